namespace Supervisor.Configuration.Machines;

/// <summary>A zone: where two axes may collide. What it says of the first and the second axis differs by its kind.</summary>
/// <remarks>Zones protect the machine, not people: positions come from drives over a serial line.</remarks>
/// <param name="Name">Name as the machine's people call it.</param>
/// <param name="First">Index of the first axis.</param>
/// <param name="Second">Index of the second axis; another one.</param>
public abstract record ZoneDefinition(string Name, int First, int Second);

/// <summary>
/// The first axis moves only while the second is within <c>While</c>. <c>Where</c> is the part of the first one's way in which that holds;
/// null: all of it.
/// </summary>
public sealed record MovesOnlyWhileZone(string Name, int First, ZoneRange? Where, int Second, ZoneRange While) : ZoneDefinition(Name, First, Second);

/// <summary>Two axes are never both inside their ranges.</summary>
public sealed record NeverBothZone(string Name, int First, ZoneRange FirstRange, int Second, ZoneRange SecondRange) : ZoneDefinition(Name, First, Second);

/// <summary>
/// Two axes on one way: on the scale of the first, whose unit <c>Distance</c> and <c>Offset</c> have, the second stays at least
/// <c>Distance</c> above the first. Its zero lies at <c>Offset</c> there; <c>Scale</c> is units of the first for one of the second,
/// negative where the second counts the other way.
/// </summary>
public sealed record DistanceZone(string Name, int First, int Second, double Distance, double Offset, double Scale) : ZoneDefinition(Name, First, Second)
{
    /// <summary>Where the second axis stands on the first one's scale.</summary>
    public double SecondAt(double position) => Offset + (Scale * position);

    /// <summary>The second axis's position for a place on the first one's scale.</summary>
    public double SecondPosition(double place) => (place - Offset) / Scale;
}

/// <summary>A range of positions, both ends included; on an endless axis met once in every turn.</summary>
/// <param name="Lower">Least position, unit.</param>
/// <param name="Upper">Greatest position, unit.</param>
public readonly record struct ZoneRange(double Lower, double Upper);
