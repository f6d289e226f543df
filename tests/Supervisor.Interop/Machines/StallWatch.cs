using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Supervisor.Bus;

namespace Supervisor.Interop.Machines;

/// <summary>
/// Notices when a processor runs nothing of ours for long: a virtual one that its host does not schedule, or one that others hold. Threads of real
/// time stand still with it, so no priority helps against that.
/// </summary>
[SupportedOSPlatform("linux")]
internal sealed partial class StallWatch : IDisposable
{
    private static readonly TimeSpan Period = TimeSpan.FromMilliseconds(20);

    // Below the shortest time that the supervisor grants to a drive that stops: three quarters of a second.
    private static readonly TimeSpan Disturbing = TimeSpan.FromMilliseconds(300);

    private readonly LinuxMonotonicClock _clock = new();
    private readonly Thread[] _threads;
    private long _longestTicks;
    private volatile bool _stop;

    public StallWatch()
    {
        _threads = [.. Enumerable.Range(0, Math.Min(Environment.ProcessorCount, 64)).Select(processor =>
            new Thread(() => Watch(processor)) { IsBackground = true, Name = $"stall watch {processor}" })];
        Array.ForEach(_threads, thread => thread.Start());
    }

    /// <summary>Longest stand-still so far.</summary>
    public TimeSpan Longest => TimeSpan.FromTicks(Interlocked.Read(ref _longestTicks));

    /// <summary>True when a time-out of the supervisor may have run out for it.</summary>
    public bool WasDisturbed => Longest > Disturbing;

    public void Dispose()
    {
        _stop = true;
        Array.ForEach(_threads, thread => thread.Join());
    }

    private void Watch(int processor)
    {
        // Where it may not be bound it watches wherever it runs.
        _ = SetAffinity(0, sizeof(ulong), 1UL << processor);
        var due = _clock.Now + Period;
        while (!_stop)
        {
            _clock.WaitUntil(due);
            var now = _clock.Now;
            Note((now - due).Ticks);
            due = now + Period;
        }
    }

    private void Note(long lateTicks)
    {
        var known = Interlocked.Read(ref _longestTicks);
        while (lateTicks > known)
        {
            var before = Interlocked.CompareExchange(ref _longestTicks, lateTicks, known);
            if (before == known)
            {
                return;
            }

            known = before;
        }
    }

    [LibraryImport("libc", EntryPoint = "sched_setaffinity")]
    private static partial int SetAffinity(int thread, nuint size, in ulong processors);
}
