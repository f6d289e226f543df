using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Routines;

/// <summary>Reads steps that raise or clear alarms and count, and which alarm tells that a step failed or takes too long.</summary>
internal sealed class AlarmStepReader(MachineDefinition machine, FileErrors errors)
{
    private const double LongestMs = 86_400_000;
    private const double MostCounts = 1_000_000;

    /// <summary>Raises an alarm.</summary>
    public RaiseAlarmStep ReadRaise(ObjectReader step, string name) => new(name, ReadNumber(step.Find("raiseAlarm")));

    /// <summary>Clears an alarm.</summary>
    public ClearAlarmStep ReadClear(ObjectReader step, string name) => new(name, ReadNumber(step.Find("clearAlarm")));

    /// <summary>Counts.</summary>
    public CountStep ReadCount(ObjectReader step, string name)
    {
        if (step.Object("count", RoutineShapes.Count) is not { } count)
        {
            return new CountStep(name, -1, 1);
        }

        var by = count.Integer("by", new NumberRange(1, MostCounts, ""), fallback: 1);
        var index = -1;
        if (count.Text("counter", "name of a counter of the machine file") is { } counter && (index = machine.CounterIndex(counter)) < 0)
        {
            count.Refuse("counter", machine.DescribeUnknownCounter(counter));
        }

        return new CountStep(name, index, by ?? 1);
    }

    /// <summary>The alarm that tells of a step's failure; null when there is none.</summary>
    public int? ReadFailure(ObjectReader step) => step.Find("failureAlarm") is { } node ? ReadNumber(node) : null;

    /// <summary>The alarm that tells that a step takes too long; null when there is none.</summary>
    public TooLong? ReadTooLong(ObjectReader step)
    {
        if (step.Object("tooLong", RoutineShapes.TooLong) is not { } tooLong)
        {
            return null;
        }

        var after = tooLong.Number("afterMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), "the time from which the step takes too long");
        return new TooLong(Milliseconds.ToTime(after), ReadNumber(tooLong.Require("alarm", "number of the alarm that tells it")));
    }

    private int ReadNumber(Node? node)
    {
        var range = new NumberRange(OwnAlarmDefinition.LeastNumber, OwnAlarmDefinition.GreatestNumber, "");
        if (node is null || Values.Integer(node, range, errors) is not { } number)
        {
            return 0;
        }

        if (machine.OwnAlarm(number) is not { } alarm)
        {
            var known = machine.Alarms.Where(each => each is { Input: null, Counter: null }).Select(each => each.Number.ToString(System.Globalization.CultureInfo.InvariantCulture)).ToArray();
            errors.Add(node, $"the machine file has no alarm {number}{(known.Length == 0 ? "; it has none for steps" : $"; for steps it has {string.Join(", ", known)}")}");
        }
        else if (alarm is not { Input: null, Counter: null })
        {
            errors.Add(node, $"alarm {number} ({Show.Quoted(alarm.Name)}) is raised and cleared by its {(alarm.Input is null ? "counter" : "input")} alone; give the step one of its own");
        }

        return number;
    }
}
