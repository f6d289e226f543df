using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Routines;

/// <summary>Reads the steps of a routine in order.</summary>
internal sealed class StepReader(MachineDefinition machine, IReadOnlyList<RoutineParameter> parameters, FileErrors errors)
{
    private const double LongestWaitMs = 3_600_000;

    private readonly MotionStepReader motion = new(machine, new ValueReader(parameters, errors), errors);
    private readonly SignalReader signals = new(machine, errors);
    private readonly AlarmStepReader alarms = new(machine, errors);
    private readonly RepeatReader repeats = new(errors);
    private readonly UsedOnce<string> names = new(errors);

    public IReadOnlyList<RoutineStep> Read(IReadOnlyList<Node> nodes)
    {
        repeats.Announce(nodes);
        var steps = new List<RoutineStep>();
        foreach (var node in nodes)
        {
            // A step that could not be read keeps its place, for indices of later repeats to stay right.
            steps.Add(ReadStep(node, steps.Count) ?? new WaitStep("", TimeSpan.Zero));
        }

        return steps;
    }

    private RoutineStep? ReadStep(Node node, int index)
    {
        if (ObjectReader.Open(node, RoutineShapes.Step, errors) is not { } step)
        {
            return null;
        }

        var name = Names.Read(step.Require("name", "name of the step"), "", errors);
        if (name is not null)
        {
            names.Note(name, step.Find("name")!, line => $"step {Show.Quoted(name)} appears twice; first in line {line}");
        }

        var actions = RoutineShapes.Actions.Where(action => step.Find(action) is not null).ToArray();
        if (actions.Length != 1)
        {
            var found = actions.Length == 0 ? "none" : Show.List(actions);
            errors.Add(node, $"exactly one of {Show.List(RoutineShapes.Actions)} is expected, found {found}");
        }

        foreach (var motion in RoutineShapes.Motions)
        {
            if (step.Find(motion) is { } unwanted && !actions.Contains("move"))
            {
                errors.Add(unwanted, motion == "velocity"
                    ? "goes with \"move\"; a contact has its own velocity inside, other steps have none"
                    : "goes with \"move\"; other steps have none");
            }
        }

        // With several actions each is still read, for all errors to be told at once.
        RoutineStep? result = null;
        foreach (var action in actions)
        {
            result = ReadAction(step, action, name ?? "", index);
        }

        var (failure, tooLong) = (alarms.ReadFailure(step), alarms.ReadTooLong(step));
        return result is null ? null : result with { FailureAlarm = failure, TooLong = tooLong };
    }

    private RoutineStep ReadAction(ObjectReader step, string action, string name, int index) => action switch
    {
        "move" => motion.ReadMove(step, name),
        "contact" => motion.ReadContact(step, name),
        "waitInput" => signals.ReadWaitInput(step, name),
        "setOutput" => signals.ReadSetOutput(step, name),
        "raiseAlarm" => alarms.ReadRaise(step, name),
        "clearAlarm" => alarms.ReadClear(step, name),
        "count" => alarms.ReadCount(step, name),
        "repeat" => repeats.Read(step, name, index),
        _ => new WaitStep(name, Milliseconds.ToTime(step.Number("waitMs", new NumberRange(0, LongestWaitMs, Milliseconds.Unit), double.NaN))),
    };
}
