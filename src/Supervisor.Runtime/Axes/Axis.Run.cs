using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Axes;

/// <content>
/// Running without end: the drive has a target far ahead, and long before it could begin to brake there it is given one farther on. It
/// works with any drive that takes a new target on the way, and a drive that is no longer spoken to still has an end.
/// </content>
public sealed partial class Axis
{
    // Of what the narrower register counts round, so that the wrap of a target is never met.
    private const double ReachShare = 0.9;

    // Ramps of drives are not exact: braking begins later than this computes.
    private const double BrakingMargin = 1.2;

    /// <summary>How far ahead a target is set, unit.</summary>
    private double Reach => Math.Abs(_scale.ToUnit(Coding.FarthestTarget)) * ReachShare;

    /// <summary>A new target in time: two handshakes, the first of which may be lost.</summary>
    private double RenewSeconds => HandshakeTime.TotalSeconds * 2;

    private bool RunsWithoutEnd => _inHand.Kind == AxisCommandKind.Run || (_inHand.Kind == AxisCommandKind.Jog && EndOfJog(_inHand) is null);

    /// <summary>The velocity at which half of the reach is just enough for a new target to come before the drive must brake: v·t + v²/2a.</summary>
    private double FastestWithoutEnd(double deceleration)
    {
        var ramp = deceleration / BrakingMargin;
        return ramp * (Math.Sqrt((RenewSeconds * RenewSeconds) + (Reach / ramp)) - RenewSeconds);
    }

    private Refusal RefuseRun(in AxisCommand command, out double value)
    {
        value = 0;
        if (_scale.Period == 0 || command.Target is not (1 or -1))
        {
            return Refusal.InvalidArgument;
        }

        if (command.Velocity <= FastestWithoutEnd(command.Deceleration))
        {
            return Refusal.None;
        }

        value = FastestWithoutEnd(command.Deceleration);
        return Refusal.VelocityLimit;
    }

    private void LengthenRun(TimeSpan now)
    {
        if (!_moveTaken || !RunsWithoutEnd)
        {
            return;
        }

        var left = (_scale.ToUnit(_targetCounts) - Position) * _moveDirection;
        if (left < Reach / 2)
        {
            SetTarget(Position + (_moveDirection * Reach));

            // On the limit's ramp: at speed, a stop that comes before the drive has taken this would brake on a gentle one. Its own end the run never sees.
            GiveAgain(now, Definition.Limits.Deceleration);
        }
    }
}
