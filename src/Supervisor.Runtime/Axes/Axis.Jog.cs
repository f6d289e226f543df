using Supervisor.Records.Commands;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Buttons;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Axes;

/// <content>
/// Jogging: the drive runs a profile to the limit in the direction of the jog, so that it ramps down there by itself; here the press is
/// watched, and the enabling input where the file names one. Whatever ends the press halts the axis.
/// </content>
public sealed partial class Axis
{
    /// <summary>A press that was not refreshed for this long has lapsed.</summary>
    public static readonly TimeSpan JogLapse = TimeSpan.FromMilliseconds(250);

    private readonly JogCell _jog;
    private readonly int _enablingCell;
    private ulong _jogSeen;
    private TimeSpan _jogSeenAt;

    private Refusal RefuseJog(in AxisCommand command, TimeSpan now, out double value)
    {
        value = 0;
        if (!AxisTable.Awaits(_node, AxisEvent.JogGiven))
        {
            return _node is AxisNode.Off or AxisNode.Energising or AxisNode.BrakeReleasing ? Refusal.NotEnabled : Refusal.AxisBusy;
        }

        if (!CountsAsReferenced && (_isPlaceUnknown || !command.Confirmed))
        {
            return Refusal.NotReferenced;
        }

        if (command.Target is not (1 or -1) || !(command.Velocity > 0) || !(command.Acceleration > 0) || !(command.Deceleration > 0))
        {
            return Refusal.InvalidArgument;
        }

        value = Definition.Limits.Velocity;
        if (command.Velocity > value * (1 + LimitTolerance))
        {
            return Refusal.VelocityLimit;
        }

        if (EndOfJog(command) is null && command.Velocity > FastestWithoutEnd(command.Deceleration))
        {
            value = FastestWithoutEnd(command.Deceleration);
            return Refusal.VelocityLimit;
        }

        if (EndOfJog(command) is { } end && (end - Position) * command.Target <= Definition.InPosition.Window)
        {
            value = end;
            return Refusal.PositionLimit;
        }

        // The command may have waited on its way: the press counts from when its button was last heard of.
        SeeJog(now);
        return !JogCell.IsOf(_jogSeen, command.Id) || now - _jogSeenAt >= JogLapse ? Refusal.JogEnded : IsEnablingOpen(now) ? Refusal.EnablingInputOpen : Refusal.None;
    }

    /// <summary>The limit or border a jog comes to; null where there is none, or where the axis does not know where it is.</summary>
    private double? EndOfJog(in AxisCommand command)
    {
        if (_scale.Period > 0 || !CountsAsReferenced)
        {
            return null;
        }

        var limit = command.Target > 0 ? Definition.Limits.UpperPosition : Definition.Limits.LowerPosition;
        return double.IsNaN(command.Until) || (limit - command.Until) * command.Target < 0 ? limit : command.Until;
    }

    private double TargetOfJog(in AxisCommand command) => EndOfJog(command) ?? Position + (command.Target * Reach);

    /// <summary>Looks at the press and at the enabling input; called before every transaction of the port.</summary>
    internal void LookAtJog(TimeSpan now)
    {
        var isRefreshed = SeeJog(now);
        if (_node != AxisNode.Jogging)
        {
            return;
        }

        if (IsEnablingOpen(now))
        {
            Raise(AxisEvent.EnablingOpened, now);
            Publish();
        }
        else if (!JogCell.IsOf(_jogSeen, _inHand.Id))
        {
            Raise(AxisEvent.JogReleased, now);
            Publish();
        }
        else if (isRefreshed && now < _deadline)
        {
            _deadline = now + JogLapse;
        }
    }

    /// <summary>Takes in the button as it is now; true when it was pressed, refreshed or let go since the last look.</summary>
    private bool SeeJog(TimeSpan now)
    {
        var word = _jog.Word;
        if (word == _jogSeen)
        {
            return false;
        }

        (_jogSeen, _jogSeenAt) = (word, now);
        return true;
    }

    /// <summary>Silent counts as open, as everywhere.</summary>
    private bool IsEnablingOpen(TimeSpan now)
    {
        if (_enablingCell < 0)
        {
            return false;
        }

        InputReading reading = _board.Inputs.Read(_enablingCell);
        return !reading.Closed || reading.IsStale(now, JogLapse);
    }
}
