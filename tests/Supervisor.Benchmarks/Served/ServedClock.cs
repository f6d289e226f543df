using System.Collections.Concurrent;
using System.Runtime.Versioning;
using Supervisor.Benchmarks.Results;
using Supervisor.Bus;

namespace Supervisor.Benchmarks.Served;

/// <summary>The clock of a whole daemon: keeps for every thread that waits by it how late its waits end that it slept through, while counting, and what it has allocated.</summary>
[SupportedOSPlatform("linux")]
internal sealed class ServedClock(IMonotonicClock inner) : IMonotonicClock
{
    [ThreadStatic]
    private static Waits? _mine;

    private readonly ConcurrentQueue<Waits> _threads = new();
    private volatile bool _isCounting;

    public TimeSpan Now => inner.Now;

    public void WaitUntil(TimeSpan deadline)
    {
        var mine = _mine ??= Enlist();
        var sleeps = deadline - inner.Now > LinuxMonotonicClock.ShortestSleep;
        mine.Allocated = GC.GetAllocatedBytesForCurrentThread();
        inner.WaitUntil(deadline);
        if (sleeps && _isCounting && mine.Late is { } late)
        {
            late.Add(inner.Now - deadline);
        }
    }

    /// <summary>Bytes allocated by the threads of a name so far.</summary>
    public long Allocated(string name) => _threads.Where(thread => thread.Name.StartsWith(name, StringComparison.Ordinal)).Sum(thread => thread.Allocated);

    /// <summary>Counts how late the ports' threads wake, from now on.</summary>
    public void Begin()
    {
        foreach (var thread in _threads)
        {
            thread.Late?.Clear();
        }

        _isCounting = true;
    }

    /// <summary>Ends the count.</summary>
    public void End(Histogram into)
    {
        _isCounting = false;

        // Whoever counts at this moment is done by then.
        inner.WaitUntil(inner.Now + TimeSpan.FromMilliseconds(5));
        foreach (var thread in _threads)
        {
            if (thread.Late is { } late)
            {
                into.Add(late);
            }
        }
    }

    private Waits Enlist()
    {
        var waits = new Waits(Thread.CurrentThread.Name ?? "");
        _threads.Enqueue(waits);
        return waits;
    }

    private sealed class Waits(string name)
    {
        private long _allocated;

        public string Name => name;

        /// <summary>Only of ports.</summary>
        public Histogram? Late { get; } = name.StartsWith("port ", StringComparison.Ordinal) ? new Histogram() : null;

        public long Allocated
        {
            get => Volatile.Read(ref _allocated);
            set => Volatile.Write(ref _allocated, value);
        }
    }
}
