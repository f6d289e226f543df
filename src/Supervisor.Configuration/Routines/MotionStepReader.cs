using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Routines;

/// <summary>Reads steps that move, and holds them against the axes' limits over the whole range of their parameters.</summary>
internal sealed class MotionStepReader(MachineDefinition machine, ValueReader values, FileErrors errors)
{
    public MoveStep ReadMove(ObjectReader step, string name)
    {
        var targets = new List<AxisTarget>();
        foreach (var member in step.Entries("move"))
        {
            if (ReadTarget(member) is { } target)
            {
                targets.Add(target);
            }
        }

        if (step.Find("move") is { Kind: NodeKind.Object, Members.Count: 0 } empty)
        {
            errors.Add(empty, "is empty; name at least one axis and its target");
        }

        RoutineValue? velocity = null;
        if (step.Find("velocity") is { } node)
        {
            var value = values.Read(node);
            velocity = value.Value;
            foreach (var target in targets)
            {
                CheckVelocity(node, value, machine.Axes[target.Axis]);
            }
        }

        return new MoveStep(name, targets, velocity);
    }

    public ContactStep ReadContact(ObjectReader step, string name)
    {
        if (step.Object("contact", RoutineShapes.Contact) is not { } contact)
        {
            return new ContactStep(name, -1, default, default, default);
        }

        var axisName = contact.Text("axis", "the axis that moves");
        var toward = values.Read(contact.Require("toward", "the farthest position"));
        var torque = values.Read(contact.Require("torque", "the torque that ends the move, % of rated"));
        var velocity = values.Read(contact.Require("velocity", "the velocity of the move"));
        var index = axisName is null ? -1 : FindAxis(contact.Find("axis")!, contact.Find("axis")!.Offset, axisName);
        if (index >= 0)
        {
            var axis = machine.Axes[index];
            CheckPosition(contact.Find("toward"), toward, axis);
            CheckTorque(contact.Find("torque"), torque, axis);
            CheckVelocity(contact.Find("velocity"), velocity, axis);
            CheckContactDrive(contact, axis);
        }

        return new ContactStep(name, index, toward.Value, torque.Value, velocity.Value);
    }

    private AxisTarget? ReadTarget(Member member)
    {
        var index = FindAxis(member.Value, member.NameOffset, member.Name);
        var isRelative = member.Value.Kind == NodeKind.Object;
        var node = member.Value;
        if (isRelative)
        {
            node = ObjectReader.Open(node, RoutineShapes.By, errors)!.Require("by", "the distance");
        }
        else if (node.Kind is not (NodeKind.Number or NodeKind.Text))
        {
            errors.WrongKind(node, "a number, \"$parameter\" or { \"by\": … }");
            return null;
        }

        var value = values.Read(node);
        if (index < 0)
        {
            return null;
        }

        if (isRelative)
        {
            CheckDistance(node, value, machine.Axes[index]);
        }
        else
        {
            CheckPosition(node, value, machine.Axes[index]);
        }

        return new AxisTarget(index, value.Value, isRelative);
    }

    private int FindAxis(Node node, int offset, string name)
    {
        var index = machine.AxisIndex(name);
        if (index < 0)
        {
            errors.Add(offset, node.Path, machine.DescribeUnknownAxis(name));
        }

        return index;
    }

    private void CheckPosition(Node? node, RangedValue value, AxisDefinition axis)
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

    private void CheckDistance(Node? node, RangedValue value, AxisDefinition axis)
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

    private void CheckVelocity(Node? node, RangedValue value, AxisDefinition axis)
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

    private void CheckTorque(Node? node, RangedValue value, AxisDefinition axis)
    {
        var most = axis.Torque?.Contact ?? 500;
        if (node is not null && (value.Least <= 0 || value.Most > most))
        {
            var limit = axis.Torque is null ? "500 %" : $"torque.contact of {axis.Name}, {Show.Number(most)} %";
            errors.Add(node, $"{value.Text} % must be above 0 and at most {limit}");
        }
    }

    private static void CheckContactDrive(ObjectReader contact, AxisDefinition axis)
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

    private static double Furthest(RangedValue value) => Math.Max(Math.Abs(value.Least), Math.Abs(value.Most));

    private static string Shown(double? value) => value is { } number ? Show.Number(number) : "none";
}
