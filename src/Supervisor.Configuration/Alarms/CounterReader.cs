using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Alarms;

/// <summary>Reads counters.</summary>
internal sealed class CounterReader(FileErrors errors, InputReader inputs, InputAge age)
{
    /// <summary>Most counters of a machine.</summary>
    public const int Most = 64;

    private static readonly Choices<bool> Edges = new(("closings", true), ("openings", false));

    private readonly UsedOnce<string> _names = new(errors);

    /// <summary>The counter, as far as it could be read; null when its value is no object.</summary>
    public CounterDefinition? Read(Node node)
    {
        if (ObjectReader.Open(node, AlarmShapes.Counted, errors) is not { } counter)
        {
            return null;
        }

        var name = Names.Read(counter.Require("name", "name of the counter"), "", errors);
        if (name is not null)
        {
            _names.Note(name, counter.Find("name")!, line => $"counter {Show.Quoted(name)} appears twice; first in line {line}");
        }

        return new CounterDefinition(name ?? "", ReadInput(counter));
    }

    private CountedInput? ReadInput(ObjectReader counter)
    {
        if (counter.Object("input", AlarmShapes.CountedInput) is not { } counted)
        {
            return null;
        }

        var input = inputs.Read(counted.Require("input", $"the input whose edges are counted: {InputReader.Shapes}"));
        var closings = counted.Choice("counts", Edges, "\"closings\" or \"openings\"");
        var settleMs = counted.Number("settleMs", AlarmReader.DelayRange, fallback: 0);
        var stale = age.Read(counted, input is null ? [] : [input]);
        return input is null ? null : new CountedInput(input, closings ?? true, Milliseconds.ToTime(settleMs), stale);
    }
}
