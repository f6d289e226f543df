using System.Globalization;
using Microsoft.Extensions.Hosting.Systemd;

namespace Supervisor.Daemon.Hosting;

/// <summary>
/// The service manager's watchdog: fed every half of its period, as sd_watchdog_enabled(3) recommends, and only by who has looked that
/// everything steps. Without one it does nothing.
/// </summary>
internal sealed class ServiceWatchdog
{
    private static readonly ServiceState Alive = new("WATCHDOG=1");
    private readonly ISystemdNotifier? _notifier;
    private readonly TimeSpan _interval;
    private TimeSpan? _fedAt;

    private ServiceWatchdog()
    {
    }

    /// <param name="notifier">Speaks to the service manager.</param>
    /// <param name="period">Time after which the service manager ends a process that was not heard; zero: it has none.</param>
    public ServiceWatchdog(ISystemdNotifier notifier, TimeSpan period)
    {
        _notifier = notifier;
        _interval = period / 2;
    }

    /// <summary>No watchdog.</summary>
    public static ServiceWatchdog None { get; } = new();

    /// <summary>The period the service manager asks of this process, in WATCHDOG_USEC; zero when it asks none or means another process.</summary>
    /// <exception cref="IOException">The variable is no time.</exception>
    public static TimeSpan PeriodFromEnvironment()
    {
        var period = Environment.GetEnvironmentVariable("WATCHDOG_USEC");
        var process = Environment.GetEnvironmentVariable("WATCHDOG_PID");
        if (string.IsNullOrEmpty(period) || (!string.IsNullOrEmpty(process) && process != Environment.ProcessId.ToString(CultureInfo.InvariantCulture)))
        {
            return TimeSpan.Zero;
        }

        return long.TryParse(period, NumberStyles.None, CultureInfo.InvariantCulture, out var microseconds) && microseconds > 0
            ? TimeSpan.FromMicroseconds(microseconds)
            : throw new IOException($"WATCHDOG_USEC is '{period}', which is no time: start the daemon by its unit, or unset the variable");
    }

    /// <summary>Feeds it when half a period has passed since it was last fed.</summary>
    public void Feed(TimeSpan now)
    {
        // A look that comes a little early must not put it off by a whole look.
        if (_interval > TimeSpan.Zero && (_fedAt is not { } last || now - last >= _interval * 0.75))
        {
            _fedAt = now;
            _notifier!.Notify(Alive);
        }
    }
}
