using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Outputs;

/// <summary>Every digital output of the machine: the named ones in the file's order, then power-enable, alive, the signal lights and the horn where there are such.</summary>
public sealed class OutputBoard
{
    private readonly bool[] _isBehindPower;

    public OutputBoard(MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        var places = machine.Outputs.Select(output => output.Place).ToList();
        Power = Add(places, machine.PowerEnable?.Output);
        Alive = Add(places, machine.Alive?.Output);
        FirstLight = places.Count;
        places.AddRange(machine.Signals.Lights.Select(light => light.Output));
        Horn = Add(places, machine.Signals.Horn?.Output);
        Places = places;
        Cells = [.. places.Select(_ => new OutputCell())];
        _isBehindPower = new bool[machine.Axes.Count];
        foreach (var axis in machine.PowerEnable?.Axes ?? [])
        {
            _isBehindPower[axis] = true;
        }
    }

    /// <summary>Where they are.</summary>
    public IReadOnlyList<OutputReference> Places { get; }

    /// <summary>Their cells, in the same order.</summary>
    public IReadOnlyList<OutputCell> Cells { get; }

    /// <summary>Index of the power-enable output; -1 when there is none.</summary>
    public int Power { get; }

    /// <summary>Index of the alive output; -1 when there is none.</summary>
    public int Alive { get; }

    /// <summary>Index of the first signal light; the others follow in the file's order.</summary>
    public int FirstLight { get; }

    /// <summary>Index of the horn; -1 when there is none.</summary>
    public int Horn { get; }

    /// <summary>True when the drive of an axis is behind the power-enable's contactor.</summary>
    public bool IsBehindPower(int axis) => _isBehindPower[axis];

    /// <summary>The stop of an axis failed: the drives' power goes off without waiting for the coordinator. Any thread.</summary>
    public void StopFailed(int axis)
    {
        if (Power >= 0 && _isBehindPower[axis])
        {
            Cells[Power].Drop();
        }
    }

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
