using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Daemon.Hosting;

namespace Supervisor.Benchmarks.Rig;

/// <summary>Raises every thread that looks at it, once: simulated drives stand for hardware, which does not wait for what else the computer does.</summary>
/// <param name="inner">The computer's clock.</param>
/// <param name="awake">
/// The last of every wait that is spent awake, so that a reply is not late by what a thread takes to wake: hardware is not. Costs a processor for as long; for one line at a time.
/// </param>
[SupportedOSPlatform("linux")]
internal sealed class RaisingClock(IMonotonicClock inner, TimeSpan awake = default) : IMonotonicClock
{
    [ThreadStatic]
    private static bool _isRaised;

    public TimeSpan Now
    {
        get
        {
            if (!_isRaised)
            {
                _isRaised = true;
                RealTimePriority.TryRaiseThisThread();
            }

            return inner.Now;
        }
    }

    public void WaitUntil(TimeSpan deadline)
    {
        inner.WaitUntil(deadline - awake);
        while (inner.Now < deadline)
        {
        }
    }
}
