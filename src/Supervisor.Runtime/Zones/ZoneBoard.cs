using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;

namespace Supervisor.Runtime.Zones;

/// <summary>The machine's zones, and which of them were found not clear: a count per zone that whoever sees it raises and every port compares. Lock-free.</summary>
public sealed class ZoneBoard
{
    private readonly int[] _trips;
    private readonly int[] _causes;
    private readonly Zone[][] _byAxis;

    internal ZoneBoard(MachineDefinition machine)
    {
        All = [.. Enumerable.Range(0, machine.Zones.Count).Select(index => new Zone(machine, index))];
        _byAxis = [.. machine.Axes.Select((_, axis) => All.Where(zone => zone.First == axis || zone.Second == axis).ToArray())];
        _trips = new int[All.Count];
        _causes = new int[All.Count];
    }

    /// <summary>Zones in the file's order.</summary>
    public IReadOnlyList<Zone> All { get; }

    /// <summary>Zones that an axis is part of.</summary>
    public ReadOnlySpan<Zone> Of(int axis) => _byAxis[axis];

    /// <summary>A zone was found not clear while an axis of it moved. Any thread.</summary>
    public void Trip(int zone, FaultCode cause)
    {
        Volatile.Write(ref _causes[zone], (int)cause);
        Interlocked.Increment(ref _trips[zone]);
    }

    /// <summary>How often a zone was found not clear.</summary>
    public int TripCount(int zone) => Volatile.Read(ref _trips[zone]);

    /// <summary>What was found last.</summary>
    public FaultCode Cause(int zone) => (FaultCode)Volatile.Read(ref _causes[zone]);
}
