using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Outputs;

/// <summary>Every digital output of the machine: the named ones in the file's order, then power-enable and alive where there are such.</summary>
public sealed class OutputBoard
{
    public OutputBoard(MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        var places = machine.Outputs.Select(output => output.Place).ToList();
        Power = Add(places, machine.PowerEnable?.Output);
        Alive = Add(places, machine.Alive?.Output);
        Places = places;
        Cells = [.. places.Select(_ => new OutputCell())];
    }

    /// <summary>Where they are.</summary>
    public IReadOnlyList<OutputReference> Places { get; }

    /// <summary>Their cells, in the same order.</summary>
    public IReadOnlyList<OutputCell> Cells { get; }

    /// <summary>Index of the power-enable output; -1 when there is none.</summary>
    public int Power { get; }

    /// <summary>Index of the alive output; -1 when there is none.</summary>
    public int Alive { get; }

    private static int Add(List<OutputReference> places, OutputReference? place)
    {
        if (place is null)
        {
            return -1;
        }

        places.Add(place);
        return places.Count - 1;
    }
}
