using Supervisor.Configuration.Drives;

namespace Supervisor.Simulation.Drives;

/// <summary>A drive that takes nothing but a stop until its unlock sequence was written in order; without such a sequence it is never locked.</summary>
internal sealed class DriveLock
{
    private readonly UnlockDefinition? _unlock;
    private readonly RegisterValue[] _keys;
    private readonly RegisterValue? _told;
    private readonly RegisterValue?[] _control;
    private int _at;
    private TimeSpan _now;
    private TimeSpan _opensAt;

    public DriveLock(DriveDefinition drive, RegisterBank bank)
    {
        _unlock = drive.Unlock;
        _keys = [.. (_unlock?.Writes ?? []).Select(write => bank.Bind(write.Field)!)];
        _told = _unlock?.Unlocked is { } bit ? bank.Told(bit.Field) : null;
        _control = [bank.Commanded(FieldNames.Controlword), drive.Commands?.Stop is { } stop ? bank.Commanded(stop.Field) : null];
    }

    /// <summary>True while it is locked.</summary>
    public bool IsLocked => _at < _keys.Length || _now < _opensAt;

    /// <summary>How long it takes from its last key until it takes commands.</summary>
    public TimeSpan Delay { get; set; }

    /// <summary>Time passes.</summary>
    public void Advance(TimeSpan now) => _now = now;

    /// <summary>Locks it: it was switched on, or locked itself.</summary>
    public void Lock() => _at = 0;

    /// <summary>Whether a write is taken: while it is locked only one of the sequence, and one of the register that stops alone.</summary>
    public bool Takes(int start, int count) =>
        !IsLocked || _keys.Any(key => key.Overlaps(start, count)) || (count == 1 && _control.Any(control => control?.Overlaps(start, count) == true));

    /// <summary>Registers were written.</summary>
    public void Written(int start, int count)
    {
        if (_at < _keys.Length && _keys[_at].Overlaps(start, count) && _keys[_at].Raw == _unlock!.Writes[_at].Value)
        {
            _at++;
            _opensAt = _now + Delay;
        }
    }

    /// <summary>Puts its bit into the feedback.</summary>
    public void Tell()
    {
        if (_unlock?.Unlocked is { } bit)
        {
            _told?.Put(1u << bit.Bit, !IsLocked);
        }
    }
}
