using Supervisor.Runtime;

namespace Supervisor.Daemon.Hosting;

/// <summary>
/// Looks whether coordinator and ports still step, tells it to whoever serves health, and feeds the service manager's watchdog only while
/// they do. A port whose device is unplugged steps and is healthy: a restart would not bring it back.
/// </summary>
/// <param name="board">Whose ports are looked at.</param>
/// <param name="coordinatorBeat">Monotonic time of the coordinator's last step.</param>
/// <param name="tell">Told when the answer changes: true while everything steps.</param>
/// <param name="lapse">Called at every look: takes authority from a holder that is overdue.</param>
/// <param name="noteClock">Called once a minute: has the history note how its clocks stand.</param>
/// <param name="watchdog">The service manager's.</param>
internal sealed class Pulse(
    MachineBoard board, Func<TimeSpan> coordinatorBeat, Action<bool> tell, Action<TimeSpan> lapse, Action noteClock, ServiceWatchdog watchdog)
{
    private static readonly TimeSpan ClockNoteInterval = TimeSpan.FromMinutes(1);

    // A board that swaps or collects garbage is late now and then; a thread that hangs is so for good.
    private static readonly TimeSpan OldestBeat = TimeSpan.FromSeconds(2);
    private const int OldestCycles = 5;

    private bool _told;
    private TimeSpan? _clockNoted;

    /// <summary>Looks once. True while everything steps.</summary>
    public bool Step(TimeSpan now)
    {
        var beats = IsBeating(now);
        if (beats != _told)
        {
            _told = beats;
            tell(beats);
        }

        lapse(now);
        if (beats)
        {
            watchdog.Feed(now);
        }

        _clockNoted ??= now;
        if (now - _clockNoted >= ClockNoteInterval)
        {
            _clockNoted = now;
            noteClock();
        }

        return beats;
    }

    private bool IsBeating(TimeSpan now)
    {
        if (now - coordinatorBeat() > OldestBeat)
        {
            return false;
        }

        for (var port = 0; port < board.Ports.Count; port++)
        {
            var oldest = board.Machine.Ports[port].Cycle * OldestCycles;
            if (now - board.Ports[port].Port.Read().At > (oldest > OldestBeat ? oldest : OldestBeat))
            {
                return false;
            }
        }

        return true;
    }
}
