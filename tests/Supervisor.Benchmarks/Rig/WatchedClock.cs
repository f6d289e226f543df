using System.Runtime.Versioning;
using Supervisor.Benchmarks.Results;
using Supervisor.Bus;

namespace Supervisor.Benchmarks.Rig;

/// <summary>The clock of a port's thread, which keeps the last time it told and how late its waits ended that it slept through.</summary>
[SupportedOSPlatform("linux")]
internal sealed class WatchedClock(IMonotonicClock inner) : IMonotonicClock
{
    private Histogram? _phase;

    /// <summary>Time the thread was told last: what it knew then it acts on.</summary>
    public TimeSpan Last { get; private set; }

    /// <summary>How late the thread ran after waits; by turns into one and the other.</summary>
    public Histogram Lateness { get; } = new();

    public Histogram LatenessEven { get; } = new();

    public Histogram LatenessOdd { get; } = new();

    /// <summary>What is counted besides, since another thread said so; null: nothing.</summary>
    public Histogram? Phase
    {
        get => Volatile.Read(ref _phase);
        set => Volatile.Write(ref _phase, value);
    }

    public TimeSpan Now => Last = inner.Now;

    public void WaitUntil(TimeSpan deadline)
    {
        var sleeps = deadline - Last > LinuxMonotonicClock.ShortestSleep;
        inner.WaitUntil(deadline);
        if (sleeps)
        {
            var late = inner.Now - deadline;
            Lateness.Add(late);
            Phase?.Add(late);
            (Lateness.Count % 2 == 0 ? LatenessEven : LatenessOdd).Add(late);
        }
    }
}
