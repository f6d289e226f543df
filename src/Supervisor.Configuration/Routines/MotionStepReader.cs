using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Routines;

/// <summary>Reads steps that move, and holds them against the axes' limits over the whole range of their parameters.</summary>
internal sealed class MotionStepReader(MachineDefinition machine, ValueReader values, FileErrors errors)
{
    private static readonly Choices<RoutineDirection> Directions = new(
        ("shortest", RoutineDirection.Shortest), ("positive", RoutineDirection.Positive), ("negative", RoutineDirection.Negative));

    private readonly MotionStepChecks checks = new(errors);

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

        return new MoveStep(name, targets, ReadForAll(step.Find("velocity"), targets, checks.Velocity))
        {
            Acceleration = ReadForAll(step.Find("acceleration"), targets, checks.Acceleration),
            Deceleration = ReadForAll(step.Find("deceleration"), targets, checks.Deceleration),
            Approach = ReadApproach(step, targets),
        };
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
            checks.Position(contact.Find("toward"), toward, axis);
            checks.Torque(contact.Find("torque"), torque, axis);
            checks.Velocity(contact.Find("velocity"), velocity, axis);
            MotionStepChecks.ContactDrive(contact, axis);
        }

        return new ContactStep(name, index, toward.Value, torque.Value, velocity.Value);
    }

    /// <summary>A value that every axis moved must be able to keep; null where the file has none.</summary>
    private RoutineValue? ReadForAll(Node? node, List<AxisTarget> targets, Action<Node?, RangedValue, AxisDefinition> check)
    {
        if (node is null)
        {
            return null;
        }

        var value = values.Read(node);
        foreach (var target in targets)
        {
            check(node, value, machine.Axes[target.Axis]);
        }

        return value.Value;
    }

    private RoutineApproach? ReadApproach(ObjectReader step, List<AxisTarget> targets)
    {
        if (step.Object("approach", RoutineShapes.Approach) is not { } approach)
        {
            return null;
        }

        var velocity = ReadForAll(approach.Require("velocity", "the slow speed"), targets, checks.Velocity);
        var (end, start) = (Length(approach, "endDistance"), Length(approach, "startDistance"));
        if (end.Least >= 0 && start.Least >= 0 && !(end.Least + start.Least > 0))
        {
            errors.Add(approach.Node, "says no length above 0; give \"endDistance\", \"startDistance\" or both");
        }

        return new RoutineApproach(velocity ?? default, end.Value, start.Value);
    }

    private RangedValue Length(ObjectReader approach, string name)
    {
        if (approach.Find(name) is not { } node)
        {
            return RangedValue.Of(0);
        }

        var value = values.Read(node);
        if (value.Least < 0)
        {
            errors.Add(node, $"{value.Text} must not be below 0: it is a length");
        }

        return value;
    }

    private AxisTarget? ReadTarget(Member member)
    {
        var index = FindAxis(member.Value, member.NameOffset, member.Name);
        var node = member.Value;
        if (node.Kind is not (NodeKind.Number or NodeKind.Text or NodeKind.Object))
        {
            errors.WrongKind(node, "a number, \"$parameter\" or { \"by\": … }");
            return null;
        }

        var target = node.Kind == NodeKind.Object ? ObjectReader.Open(node, RoutineShapes.Target, errors) : null;
        var isRelative = target is not null && target.Find("to") is null;
        node = target is null ? node
            : isRelative ? target.Require("by", "the distance, or say \"to\" and a position")
            : target.Find("to");
        var value = values.Read(node);
        if (target is { } both && both.Find("by") is not null && both.Find("to") is not null)
        {
            both.Refuse("by", "is a distance, and \"to\" is a position; take one of the two out");
        }

        var direction = ReadDirection(target, isRelative, index < 0 ? null : machine.Axes[index]);
        if (index < 0)
        {
            return null;
        }

        (isRelative ? (Action<Node?, RangedValue, AxisDefinition>)checks.Distance : checks.Position)(node, value, machine.Axes[index]);
        return new AxisTarget(index, value.Value, isRelative) { Direction = direction };
    }

    private static RoutineDirection ReadDirection(ObjectReader? target, bool isRelative, AxisDefinition? axis)
    {
        if (target?.Find("direction") is null)
        {
            return RoutineDirection.Shortest;
        }

        if (isRelative)
        {
            target.Refuse("direction", "goes with \"to\"; a distance has its direction by its sign");
        }
        else if (axis is { EndlessPeriod: null })
        {
            target.Refuse("direction", $"{axis.Name} is no endless axis: there is one way to a position; take it out");
        }

        return target.Choice("direction", Directions, RoutineDirection.Shortest) ?? default;
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
}
