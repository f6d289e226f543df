namespace Supervisor.Runtime.Buttons;

/// <summary>
/// The button of one axis's jog: which press holds it and how often it was refreshed. Written by the threads that serve the person, looked
/// at by the axis's stepper before every transaction; lock-free, and never in a queue.
/// </summary>
/// <remarks>Press and count are one word. A press that was released or displaced can't take the cell again: its refresh finds another's id.</remarks>
public sealed class JogCell
{
    private ulong _word;

    /// <summary>Press and count as they are now; compare with what was seen last.</summary>
    public ulong Word => Volatile.Read(ref _word);

    /// <summary>Begins a press; an earlier one has ended by that. Any thread.</summary>
    public void Press(ulong id) => Volatile.Write(ref _word, Of(id));

    /// <summary>Refreshes a press; false when it no longer holds the cell. Any thread.</summary>
    public bool Refresh(ulong id) => Change(id, static word => (word & ~(ulong)uint.MaxValue) | unchecked((uint)word + 1));

    /// <summary>Ends a press; false when it had ended before. Any thread.</summary>
    public bool Release(ulong id) => Change(id, static _ => 0);

    /// <summary>True when the word belongs to a press.</summary>
    public static bool IsOf(ulong word, ulong id) => word != 0 && word >> 32 == Of(id) >> 32;

    private static ulong Of(ulong id) => id << 32;

    private bool Change(ulong id, Func<ulong, ulong> change)
    {
        while (true)
        {
            var word = Volatile.Read(ref _word);
            if (!IsOf(word, id))
            {
                return false;
            }

            if (Interlocked.CompareExchange(ref _word, change(word), word) == word)
            {
                return true;
            }
        }
    }
}
