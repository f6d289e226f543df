using Supervisor.Configuration.Machines;
using Supervisor.Motion.Stopping;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Zones;

namespace Supervisor.Runtime.Axes;

/// <content>
/// Zones: where the axis may come to be before anybody who looks at it could have stopped it, and the stop when a zone is not clear.
/// </content>
public sealed partial class Axis
{
    private readonly double _reactionSeconds;
    private double _wayLower;
    private double _wayUpper;
    private bool _wayKnown;
    private ulong _excusedZones;
    private short _faultZone;

    /// <summary>Moving by a command, or about to: what a zone that is not clear stops.</summary>
    internal bool IsInMotion => _node is AxisNode.Running or AxisNode.Jogging or AxisNode.Halting
        or AxisNode.HomeEnergising or AxisNode.HomeBrakeReleasing or AxisNode.Searching or AxisNode.HomeStopping;

    /// <summary>The coordinator has judged that its present motion may be in a zone that is not clear: it leads out, or a person looks.</summary>
    internal bool IsExcusedFrom(Zone zone) => (_excusedZones & (1UL << zone.Index)) != 0;

    /// <summary>It has left what it was excused from: from now on that holds again.</summary>
    internal void EndExcuse(Zone zone) => _excusedZones &= ~(1UL << zone.Index);

    /// <summary>How far an axis may be off its place, unit, before that is a fault of its own.</summary>
    public static double StandstillWindowOf(AxisDefinition axis) => Math.Max(axis.FollowingError?.Limit ?? 0, axis.InPosition.Window * 10);

    /// <summary>A zone is not clear: what moves makes a quick stop.</summary>
    internal void LeaveZone(Zone zone, FaultCode cause, TimeSpan now)
    {
        if (IsInMotion)
        {
            _faultZone = (short)(zone.Index + 1);
            SeeFault(cause, 0, now);
            Publish();
        }
    }

    /// <summary>The time in which this axis's look and another port's may both be late: a reading may be this old and the stop not yet out.</summary>
    private static double ReactionSeconds(MachineBoard board, int axis)
    {
        var port = board.Machine.Ports[board.Machine.Axes[axis].Port];
        return (Clearance.Oldest(board, axis) + (port.Cycle * 2) + port.ResponseTimeout).TotalSeconds;
    }

    /// <summary>A move begins: from where it may be by now to its target; what is under way comes to rest first.</summary>
    private void BeginWay(in AxisCommand command, double target)
    {
        var from = ReachNow();
        var overrun = Math.Abs(_velocity) < _restVelocity ? 0 : StoppingDistance(_velocity, command.Deceleration) * Math.Sign(_velocity);
        _wayLower = Math.Min(Math.Min(from.Lower, target), Position + overrun);
        _wayUpper = Math.Max(Math.Max(from.Upper, target), Position + overrun);
        _wayKnown = command.Kind != AxisCommandKind.Run && !(command.Kind == AxisCommandKind.Jog && EndOfJog(command) is null);
        _excusedZones = command.ExcusedZones;
    }

    /// <summary>A search for the zero has no way that is known beforehand, and positions before and after it do not compare.</summary>
    private void BeginUnknownWay(ulong excusedZones)
    {
        _wayKnown = false;
        _excusedZones = excusedZones;
    }

    /// <summary>
    /// Where it may come to be within the reaction time and its stopping distance. A drive that runs a profile goes no farther than its
    /// target, and a stop on the way ends before it; off that way anything is believed.
    /// </summary>
    private Extent ReachNow()
    {
        if (IsTimeoutUnderTest)
        {
            // Nobody looks at it: anywhere on its way, and as far beyond as a window tells.
            return new Extent(_wayLower, _wayUpper, Moves: true);
        }

        var isDriven = _node is AxisNode.Running or AxisNode.Jogging;

        // One that holds its place shows some noise; whether it keeps it is watched as its standstill.
        var speed = _node == AxisNode.Ready ? 0 : Math.Abs(_velocity);
        var moves = IsInMotion || speed >= _restVelocity;
        if (!isDriven && speed < _restVelocity)
        {
            return Extent.At(Position, moves);
        }

        var fastest = isDriven ? Math.Max(speed, Math.Min(_inHand.Velocity, speed + (_inHand.Acceleration * _reactionSeconds))) : speed;
        var way = (fastest * _reactionSeconds) + StoppingDistance(fastest, Definition.Limits.Deceleration);
        var lower = isDriven || _velocity < 0 ? Position - way : Position;
        var upper = isDriven || _velocity > 0 ? Position + way : Position;
        var window = StandstillWindow;
        var keepsToWay = _wayKnown && Position >= _wayLower - window && Position <= _wayUpper + window
            && (isDriven || _node is AxisNode.Halting or AxisNode.StoppingToOff or AxisNode.FaultStopping);
        return keepsToWay
            ? new Extent(Math.Min(Position, Math.Max(lower, _wayLower)), Math.Max(Position, Math.Min(upper, _wayUpper)), moves)
            : new Extent(lower, upper, moves);
    }

    private double StoppingDistance(double velocity, double deceleration) => Definition.Limits.Jerk is { } jerk
        ? StopCalculation.StoppingDistance(velocity, deceleration, jerk)
        : StopCalculation.StoppingDistance(velocity, deceleration);
}
