using System.Runtime.Versioning;
using Supervisor.Benchmarks.Results;
using Supervisor.Bus;
using Supervisor.Daemon.Hosting;

namespace Supervisor.Benchmarks.Stops;

/// <summary>A thread that does nothing but wake up every millisecond with the priority of a port's: how late the computer itself is.</summary>
[SupportedOSPlatform("linux")]
internal sealed class JitterThread : IDisposable
{
    private static readonly TimeSpan Period = TimeSpan.FromMilliseconds(1);
    private readonly IMonotonicClock _clock;
    private readonly Thread _thread;
    private volatile bool _stop;

    public JitterThread(IMonotonicClock clock)
    {
        _clock = clock;
        _thread = new Thread(Run) { Name = "bare", IsBackground = true };
        _thread.Start();
    }

    public Histogram Lateness { get; } = new();

    public Histogram LatenessEven { get; } = new();

    public Histogram LatenessOdd { get; } = new();

    public void Dispose()
    {
        _stop = true;
        _thread.Join();
    }

    private void Run()
    {
        RealTimePriority.TryRaiseThisThread();
        var due = _clock.Now;
        for (var i = 0; !_stop; i++)
        {
            due += Period;
            _clock.WaitUntil(due);
            var now = _clock.Now;
            var late = now - due;
            Lateness.Add(late);
            (i % 2 == 0 ? LatenessEven : LatenessOdd).Add(late);

            // An overrun skips, it does not burst.
            due = late > Period ? now : due;
        }
    }
}
