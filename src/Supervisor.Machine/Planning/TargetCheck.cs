using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Watching;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Planning;

/// <summary>Checks the numbers of a motion command against an axis's limits.</summary>
internal sealed class TargetCheck(MachineView view)
{
    // A target that went through text and back may miss its limit by the last digit.
    private const double Tolerance = 1e-9;

    /// <summary>A number that can be a target, for an axis that has such targets, and inside the limits when the axis need not be asked where it is.</summary>
    public Objection? Value(int axis, MoveTarget target)
    {
        var definition = view.Axes[axis];
        if (!double.IsFinite(target.Value))
        {
            var (what, unit) = target.WithoutEnd ? ("velocity", $"{definition.Unit}/s") : ("position", definition.Unit);
            return new Objection(Refusal.InvalidArgument, axis, $"{view.NameOf(axis)}: {target.Value} is no {what}: give a number in {unit}");
        }

        if (definition.EndlessPeriod is null && target.WithoutEnd)
        {
            return new Objection(Refusal.InvalidArgument, axis, $"{view.NameOf(axis)} is no endless axis: it can't run without end; give a position {Span(definition)}");
        }

        if (target.Way != WayRound.Shortest && !(definition.EndlessPeriod is not null && target.IsPosition))
        {
            return new Objection(Refusal.InvalidArgument, axis,
                $"{view.NameOf(axis)}: a direction goes with a position of an endless axis; leave it out here");
        }

        return null;
    }

    /// <summary>Where the axis would go must lie inside its limits, or lead back to them when it is beyond one.</summary>
    public Objection? Range(int axis, MoveTarget target, bool afterCurrent = false)
    {
        var definition = view.Axes[axis];
        if (definition.EndlessPeriod is not null)
        {
            return null;
        }

        var from = target.FromActual && !afterCurrent ? view[axis].Position : view[axis].Target;
        var end = target.IsPosition ? target.Value : from + target.Value;
        var (side, limit) = end > definition.Limits.UpperPosition + Tolerance ? ("beyond the upper", definition.Limits.UpperPosition)
            : end < definition.Limits.LowerPosition - Tolerance ? ("below the lower", definition.Limits.LowerPosition)
            : ("", null);
        if (limit is null || LeadsBack(view[axis].Position, end, limit.Value, side.Length > 0 && end > limit))
        {
            return null;
        }

        var how = target.IsPosition ? "" : $" ({Sentences.Number(target.Value)} from {Sentences.Length(definition, from)})";
        return new Objection(Refusal.PositionLimit, axis,
            $"{definition.Name}: position {Sentences.Length(definition, end)}{how} is {side} limit of {Sentences.Length(definition, limit.Value)}; give a target {Span(definition)}");
    }

    /// <summary>An axis beyond this very limit may go nearer to it.</summary>
    private static bool LeadsBack(double from, double to, double limit, bool isUpper) => isUpper ? from > limit && to < from : from < limit && to > from;

    public Objection? Velocity(int axis, double velocity)
    {
        var definition = view.Axes[axis];
        if (!double.IsFinite(velocity) || velocity <= 0)
        {
            return new Objection(Refusal.InvalidArgument, axis,
                $"{definition.Name}: velocity {Sentences.Speed(definition, velocity)} is not above 0; give one up to {Sentences.Speed(definition, definition.Limits.Velocity)}");
        }

        return velocity <= definition.Limits.Velocity * (1 + Tolerance) ? null : new Objection(Refusal.VelocityLimit, axis,
            $"{definition.Name}: velocity {Sentences.Speed(definition, velocity)} is above the limit of {Sentences.Speed(definition, definition.Limits.Velocity)}; give a lower one");
    }

    /// <summary>A ramp must be positive and not above its limit; null means the limit.</summary>
    public Objection? Ramp(int axis, double? ramp, bool isDeceleration)
    {
        if (ramp is not { } value)
        {
            return null;
        }

        var definition = view.Axes[axis];
        var limit = isDeceleration ? definition.Limits.Deceleration : definition.Limits.Acceleration;
        var name = isDeceleration ? "deceleration" : "acceleration";
        if (!double.IsFinite(value) || value <= 0)
        {
            return new Objection(Refusal.InvalidArgument, axis,
                $"{definition.Name}: {name} {Sentences.Speed(definition, value)}² is not above 0; give one up to {Sentences.Speed(definition, limit)}²");
        }

        return value <= limit * (1 + Tolerance) ? null : new Objection(Refusal.AccelerationLimit, axis,
            $"{definition.Name}: {name} {Sentences.Speed(definition, value)}² is above the limit of {Sentences.Speed(definition, limit)}²; give a lower one");
    }

    /// <summary>An approach speed must be a speed of the axis over some way, and something its drive can be told.</summary>
    public Objection? Approach(int axis, ApproachSpeed? approach)
    {
        if (approach is null)
        {
            return null;
        }

        var definition = view.Axes[axis];
        if (definition.Drive.CommandField("profileVelocity") is null)
        {
            return new Objection(Refusal.NotSupportedByDrive, axis,
                $"{definition.Name}: its drive definition {definition.Drive.Name} has no profileVelocity, so its speed can't be changed on the way: leave out the approach speed");
        }

        var isSound = double.IsFinite(approach.EndDistance) && double.IsFinite(approach.StartDistance)
            && approach.EndDistance >= 0 && approach.StartDistance >= 0 && approach.EndDistance + approach.StartDistance > 0;
        return !isSound
            ? new Objection(Refusal.InvalidArgument, axis, $"{definition.Name}: an approach needs a distance above 0 at the end or at the start, in {definition.Unit}")
            : Velocity(axis, approach.Velocity);
    }

    /// <summary>A contact torque must be positive, not above the file's contact limit, and something the drive can be limited to.</summary>
    public Objection? Torque(int axis, double torque)
    {
        var definition = view.Axes[axis];
        if (definition.Drive.CommandField("torqueLimit") is null || definition.Drive.FeedbackField("torque") is null)
        {
            return new Objection(Refusal.NotSupportedByDrive, axis,
                $"{definition.Name}: its drive definition {definition.Drive.Name} needs both a torqueLimit and a torque for contact moves; without them it could push without limit: use a move");
        }

        if (!double.IsFinite(torque) || torque <= 0)
        {
            return new Objection(Refusal.InvalidArgument, axis, $"{definition.Name}: torque {Sentences.Number(torque)} % is not above 0; give percent of rated torque");
        }

        return definition.Torque is not { } limits || torque <= limits.Contact * (1 + Tolerance) ? null : new Objection(Refusal.TorqueLimit, axis,
            $"{definition.Name}: torque {Sentences.Number(torque)} % is above the contact limit of {Sentences.Number(limits.Contact)} %; give a lower one");
    }

    /// <summary>A position of an endless axis within its first turn: 370° is 10°.</summary>
    public double Wrapped(int axis, double position)
    {
        if (view.Axes[axis].EndlessPeriod is not { } period)
        {
            return position;
        }

        var wrapped = position - (Math.Floor(position / period) * period);
        return wrapped >= period ? 0 : wrapped;
    }

    private static string Span(AxisDefinition axis) => (axis.Limits.LowerPosition, axis.Limits.UpperPosition) switch
    {
        ({ } lower, { } upper) => $"from {Sentences.Number(lower)} to {Sentences.Length(axis, upper)}",
        ({ } lower, null) => $"from {Sentences.Length(axis, lower)} upwards",
        (null, { } upper) => $"up to {Sentences.Length(axis, upper)}",
        _ => "",
    };
}
