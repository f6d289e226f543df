using Supervisor.Machine.Api;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Stops;

/// <summary>Watches the stops and halts that were asked for until every axis is seen at rest, or until that should have happened long ago.</summary>
/// <remarks>The requests themselves are in the latch before this hears of them.</remarks>
internal sealed class StopWatch(MachineView view, CommandAnswers answers, StopNames stoppedBy)
{
    private static readonly TimeSpan Grace = TimeSpan.FromSeconds(2);
    private static readonly TimeSpan OfflineGrace = TimeSpan.FromSeconds(1);
    private const double LongestRampS = 600;
    private readonly List<Watched> _stops = [];

    public void Begin(PendingCommand stop)
    {
        foreach (var axis in stop.Axes)
        {
            if (!view.IsKnown(axis))
            {
                answers.Refuse(stop, new Planning.Objection(Refusal.UnknownAxis, -1,
                    $"there is no axis with index {axis}: the other axes that were named have been asked to stop"));
                return;
            }
        }

        var axes = stop.Axes.Length > 0 ? stop.Axes : [.. Enumerable.Range(0, view.Axes.Length)];
        if (stop.Command is StopCommand)
        {
            foreach (var axis in axes)
            {
                stoppedBy[axis] = stop.Holder;
            }
        }

        _stops.Add(new Watched(stop, axes, view.Now, view.Now + axes.Select(LongestStop).DefaultIfEmpty().Max()));
    }

    public void Step()
    {
        for (var i = _stops.Count - 1; i >= 0; i--)
        {
            if (Look(_stops[i]) is { } answer)
            {
                answers.End(_stops[i].Stop, answer);
                _stops.RemoveAt(i);
            }
        }
    }

    public void GiveUp(string message)
    {
        foreach (var watched in _stops)
        {
            answers.End(watched.Stop, Failed(watched.Stop, Refusal.ShuttingDown, FaultCode.None, -1, message));
        }

        _stops.Clear();
    }

    /// <summary>Twice the time from full velocity to rest, and a little for the line.</summary>
    public TimeSpan LongestStop(int axis)
    {
        var limits = view.Axes[axis].Limits;
        return Grace + TimeSpan.FromSeconds(Math.Min(2 * limits.StoppingTime(limits.Velocity).TotalSeconds, LongestRampS));
    }

    private CommandAnswer? Look(Watched watched)
    {
        int moving = -1, silent = -1, replaced = -1;
        foreach (var axis in watched.Axes)
        {
            if (!view.IsOnline(axis))
            {
                silent = axis;
            }
            else if (IsReplaced(axis, watched.Stop))
            {
                replaced = axis;
            }
            else if (!IsAtRest(axis, watched.Stop.StopEpochs[axis]))
            {
                moving = axis;
            }
        }

        return (moving, silent) switch
        {
            (-1, -1) when replaced >= 0 => new CommandAnswer(watched.Stop.Id, Outcome.Replaced, Refusal.ReplacedByCommand, FaultCode.None, replaced,
                $"{view.NameOf(replaced)} was given a later command", null),
            (-1, -1) => new CommandAnswer(watched.Stop.Id, Outcome.Done, Refusal.None, FaultCode.None, -1, "at rest", null),
            (-1, _) when view.Now - watched.Since >= OfflineGrace => Failed(watched.Stop, Refusal.AxisOffline, FaultCode.LinkLost, silent,
                $"{view.NameOf(silent)} does not answer, so its stop is not confirmed: it stops by its own communication time-out after {view.Axes[silent].CommunicationTimeout.TotalMilliseconds:0} ms; look at it before you go near"),
            ( >= 0, _) when view.Now >= watched.Deadline => Failed(watched.Stop, Refusal.None, FaultCode.StopFailed, moving,
                $"{view.NameOf(moving)} was not seen at rest in time: press the emergency stop and stay clear"),
            _ => null,
        };
    }

    /// <summary>An axis without torque may still coast, and one that has just got it may still be caught, whatever their states.</summary>
    private bool IsAtRest(int axis, int epoch) =>
        unchecked(view[axis].StopEpochSeen - epoch) >= 0 && view[axis].State is not (AxisState.Moving or AxisState.Homing) && view[axis].Detail != AxisDetail.Stopping
        && Math.Abs(view[axis].Velocity) < view.Axes[axis].Limits.RestVelocity;

    /// <summary>A halted axis has begun what was commanded after the halt.</summary>
    private bool IsReplaced(int axis, PendingCommand stop) => stop.Command is HaltCommand
        && unchecked(view[axis].StopEpochSeen - stop.StopEpochs[axis]) >= 0
        && view[axis] is { State: AxisState.Moving or AxisState.Homing, Detail: not AxisDetail.Stopping, CommandId: not 0 };

    private static CommandAnswer Failed(PendingCommand stop, Refusal reason, FaultCode fault, int axis, string message) =>
        new(stop.Id, Outcome.Failed, reason, fault, axis, message, null);

    private sealed record Watched(PendingCommand Stop, int[] Axes, TimeSpan Since, TimeSpan Deadline);
}
