using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Routines;

/// <summary>Holds what a step asks of an axis against its limits and its drive, over the whole range of the routine's parameters.</summary>
internal sealed class MotionStepChecks(FileErrors errors)
{
    public void Position(Node? node, RangedValue value, AxisDefinition axis)
    {
        var (lower, upper) = (axis.Limits.LowerPosition, axis.Limits.UpperPosition);
        if (node is not null && (value.Least < lower || value.Most > upper))
        {
            errors.Add(node, $"{value.Text} {axis.Unit} is outside the limits of {axis.Name}, {Shown(lower)} to {Shown(upper)} {axis.Unit}");
        }
        else if (node is not null && axis.EndlessPeriod is { } period && Furthest(value) > period)
        {
            errors.Add(node, $"{value.Text} {axis.Unit} is more than a turn of {axis.Name}, {Show.Number(period)} {axis.Unit}; to go farther say {{ \"by\": … }}");
        }
    }

    public void Distance(Node? node, RangedValue value, AxisDefinition axis)
    {
        var way = axis.Limits.UpperPosition - axis.Limits.LowerPosition;
        if (node is not null && Furthest(value) > way)
        {
            errors.Add(node, $"{value.Text} {axis.Unit} is farther than {axis.Name} can go, {Shown(way)} {axis.Unit} from limit to limit");
        }
        else if (node is not null && Furthest(value) * axis.CountsPerUnit > int.MaxValue)
        {
            errors.Add(node, $"{value.Text} {axis.Unit} is more than the drive's 32-bit counts hold");
        }
    }

    public void Velocity(Node? node, RangedValue value, AxisDefinition axis)
    {
        if (node is null || double.IsNaN(value.Least))
        {
            return;
        }

        if (value.Least <= 0 || value.Most > axis.Limits.Velocity)
        {
            errors.Add(node, $"{value.Text} {axis.Unit}/s must be above 0 and at most the limit of {axis.Name}, {Show.Number(axis.Limits.Velocity)} {axis.Unit}/s");
        }
        else if (axis.Drive.CommandField(FieldNames.ProfileVelocity) is null)
        {
            errors.Add(node, $"drive {Show.Quoted(axis.Drive.Name)} of {axis.Name} declares no command field \"profileVelocity\": its velocity can't be set");
        }
    }

    public void Acceleration(Node? node, RangedValue value, AxisDefinition axis) =>
        Ramp(node, value, axis, axis.Limits.Acceleration, FieldNames.ProfileAcceleration, FieldNames.AccelerationTime);

    public void Deceleration(Node? node, RangedValue value, AxisDefinition axis) =>
        Ramp(node, value, axis, axis.Limits.Deceleration, FieldNames.ProfileDeceleration, FieldNames.DecelerationTime);

    public void Torque(Node? node, RangedValue value, AxisDefinition axis)
    {
        var most = axis.Torque?.Contact ?? 500;
        if (node is not null && (value.Least <= 0 || value.Most > most))
        {
            var limit = axis.Torque is null ? "500 %" : $"torque.contact of {axis.Name}, {Show.Number(most)} %";
            errors.Add(node, $"{value.Text} % must be above 0 and at most {limit}");
        }
    }

    public static void ContactDrive(ObjectReader contact, AxisDefinition axis)
    {
        var drive = axis.Drive;
        var missing = drive.FeedbackField(FieldNames.Torque) is null ? "feedback field \"torque\": the contact could not be seen"
            : drive.CommandField(FieldNames.TorqueLimit) is null ? "command field \"torqueLimit\": the press could not be limited"
            : null;
        if (missing is not null)
        {
            contact.Refuse("axis", $"drive {Show.Quoted(drive.Name)} of {axis.Name} declares no {missing}");
        }
    }

    private void Ramp(Node? node, RangedValue value, AxisDefinition axis, double limit, string rate, string time)
    {
        if (node is null || double.IsNaN(value.Least))
        {
            return;
        }

        if (value.Least <= 0 || value.Most > limit)
        {
            errors.Add(node, $"{value.Text} {axis.Unit}/s² must be above 0 and at most the limit of {axis.Name}, {Show.Number(limit)} {axis.Unit}/s²");
        }
        else if (axis.Drive.CommandField(rate) is null && axis.Drive.CommandField(time) is null)
        {
            errors.Add(node, $"drive {Show.Quoted(axis.Drive.Name)} of {axis.Name} declares no command field {Show.Quoted(rate)}: its ramp can't be set");
        }
    }

    private static double Furthest(RangedValue value) => Math.Max(Math.Abs(value.Least), Math.Abs(value.Most));

    private static string Shown(double? value) => value is { } number ? Show.Number(number) : "none";
}
