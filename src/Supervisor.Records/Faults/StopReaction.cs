namespace Supervisor.Records.Faults;

/// <summary>How an axis is brought to rest. Categories as in IEC 60204-1, 9.2.2. Not a safety function: the hardware circuit removes power by itself.</summary>
public enum StopReaction : byte
{
    /// <summary>Nothing stops.</summary>
    None = 0,

    /// <summary>Category 2: the axis comes to rest and keeps its torque.</summary>
    /// <remarks>One that is being homed or energised goes off instead: neither has a half result to keep.</remarks>
    StopAndHold = 1,

    /// <summary>Category 1: quick stop, brake, then torque off.</summary>
    /// <remarks>Where there is no torque, nothing is left to switch off; where power is being taken already, it is not given back for the stop.</remarks>
    QuickStopThenOff = 2,

    /// <summary>Category 0: torque off at once; the axis coasts or falls onto its brake.</summary>
    CutPower = 3,

    /// <summary>The category the machine file gives the interlock.</summary>
    AsInterlock = 4,

    /// <summary>Where a load hangs on the axis: it stands, the motor holds the load with the brake closed, until a person says that it is supported. Without a load as <see cref="QuickStopThenOff"/>.</summary>
    HoldLoad = 5,
}

/// <summary>What a fault does to the axis it is on, and to the other axes of that axis's group.</summary>
/// <param name="Axis">The axis itself.</param>
/// <param name="Group">The others of its group; an axis without a group stops alone.</param>
public readonly record struct FaultReaction(StopReaction Axis, StopReaction Group)
{
    /// <summary>What a class of faults does. An entry of the catalogue that does otherwise says so.</summary>
    public static FaultReaction Of(FaultClass faults) => faults switch
    {
        FaultClass.None or FaultClass.Warning => new(StopReaction.None, StopReaction.None),

        // The port's axes stop by their own time-outs, all others in order; the process ends.
        FaultClass.Daemon => new(StopReaction.QuickStopThenOff, StopReaction.QuickStopThenOff),
        _ => new(StopReaction.QuickStopThenOff, StopReaction.StopAndHold),
    };

    /// <summary>The stop category of IEC 60204-1, 9.2.2; null where nothing stops, or the machine file says it.</summary>
    public static int? Category(StopReaction reaction) => reaction switch
    {
        StopReaction.CutPower => 0,
        StopReaction.QuickStopThenOff => 1,
        StopReaction.StopAndHold => 2,
        _ => null,
    };

    /// <summary>A few words for tables.</summary>
    public static string Words(StopReaction reaction) => reaction switch
    {
        StopReaction.StopAndHold => "stop and hold",
        StopReaction.QuickStopThenOff => "quick stop, then off",
        StopReaction.HoldLoad => "holds its load by torque; without one: quick stop, then off",
        StopReaction.CutPower => "cut power",
        StopReaction.AsInterlock => "as its interlock",
        _ => "goes on",
    };

    /// <summary>One sentence for a person: what axis and group do.</summary>
    public string Describe() => (Axis, Group) switch
    {
        (StopReaction.None, _) => "Nothing stops.",
        (StopReaction.AsInterlock, _) => "The interlock's axes stop in its stop category and stay inhibited.",
        (var axis, StopReaction.None) => $"The axis {Verb(axis)}; its group goes on.",
        (StopReaction.QuickStopThenOff, StopReaction.QuickStopThenOff) => "All axes of the machine make a quick stop, then torque goes off.",
        var (axis, group) => $"The axis {Verb(axis)}; its group {Verb(group)}.",
    };

    private static string Verb(StopReaction reaction) => reaction switch
    {
        StopReaction.StopAndHold => "stops and keeps its torque",
        StopReaction.QuickStopThenOff => "makes a quick stop, then its torque goes off",
        StopReaction.HoldLoad => "holds its load by torque until a person says that it is supported, or, without a load, makes a quick stop, then its torque goes off",
        StopReaction.CutPower => "loses its torque at once",
        StopReaction.AsInterlock => "stops as its interlock says",
        _ => "goes on",
    };
}
