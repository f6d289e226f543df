using Supervisor.Configuration.Routines;
using Supervisor.Machine.Api;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Production.Routines;

/// <summary>What a step asks of the machine.</summary>
internal static class StepCommands
{
    /// <summary>The command of a step; null for a step that is none.</summary>
    public static MachineCommand? For(RoutineStep step, ParameterValues values) => step switch
    {
        MoveStep move => new MoveCommand(
            [.. move.Targets.Select(target => new MoveTarget(target.Axis, values.Of(target.Value), target.Relative) { Way = WayOf(target.Direction) })],
            Of(move.Velocity, values))
        {
            Acceleration = Of(move.Acceleration, values),
            Deceleration = Of(move.Deceleration, values),
            Approach = move.Approach is { } slow ? new ApproachSpeed(values.Of(slow.Velocity), values.Of(slow.EndDistance), values.Of(slow.StartDistance)) : null,
        },
        ContactStep contact => new ContactCommand(contact.Axis, values.Of(contact.Toward), values.Of(contact.Torque), values.Of(contact.Velocity)),
        SetOutputStep output => new SetOutputCommand(output.Axis, output.Output, output.On),
        RaiseAlarmStep raise => new RaiseAlarmCommand(raise.Number),
        ClearAlarmStep clear => new ClearAlarmCommand(clear.Number),
        CountStep count => new CountCommand(count.Counter, count.By),
        _ => null,
    };

    /// <summary>Axes that a routine moves, each once.</summary>
    public static int[] AxesMovedBy(RoutineDefinition routine) => [.. routine.Steps.SelectMany(Axes).Distinct().Order()];

    private static double? Of(RoutineValue? value, ParameterValues values) => value is { } known ? values.Of(known) : null;

    private static WayRound WayOf(RoutineDirection direction) => direction switch
    {
        RoutineDirection.Positive => WayRound.Positive,
        RoutineDirection.Negative => WayRound.Negative,
        _ => WayRound.Shortest,
    };

    private static IEnumerable<int> Axes(RoutineStep step) => step switch
    {
        MoveStep move => move.Targets.Select(target => target.Axis),
        ContactStep contact => [contact.Axis],
        _ => [],
    };
}
