namespace Supervisor.Runtime.Messaging;

/// <summary>Which way a position of an endless axis is approached.</summary>
public enum WayRound : byte
{
    /// <summary>The shorter one.</summary>
    Shortest = 0,

    /// <summary>Towards rising positions, whatever the distance.</summary>
    Positive = 1,

    /// <summary>Towards falling positions, whatever the distance.</summary>
    Negative = 2,
}

/// <summary>How a move is run besides its target, speed and ramps. The default is a plain move.</summary>
/// <param name="Way">Way to a position of an endless axis; nothing for others.</param>
/// <param name="AfterCurrent">True: it waits until the running move has arrived; at rest it begins at once.</param>
/// <param name="ApproachVelocity">Unit/s of the slow ends, above 0; 0: none.</param>
/// <param name="ApproachStart">Length of the slow part at the start, unit, 0 or more.</param>
/// <param name="ApproachEnd">Length of the slow part before the target, unit, 0 or more.</param>
public readonly record struct MoveShape(
    WayRound Way = WayRound.Shortest,
    bool AfterCurrent = false,
    double ApproachVelocity = 0,
    double ApproachStart = 0,
    double ApproachEnd = 0)
{
    /// <summary>True when a part of the move is run slowly.</summary>
    public bool HasApproach => ApproachVelocity > 0;
}
