using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Daemon.Hosting;

namespace Supervisor.Benchmarks.Rig;

/// <summary>Raises every thread that looks at it, once: simulated drives stand for hardware, which does not wait for what else the computer does.</summary>
[SupportedOSPlatform("linux")]
internal sealed class RaisingClock(IMonotonicClock inner) : IMonotonicClock
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

    public void WaitUntil(TimeSpan deadline) => inner.WaitUntil(deadline);
}
