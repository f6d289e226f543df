namespace Supervisor.Simulation.Drives;

/// <summary>Something that a drive does once for each time it is told to: by an edge, not by a level.</summary>
public enum DriveAct
{
    /// <summary>It took a target over and goes there.</summary>
    SetPoint = 1,

    /// <summary>It began to look for its zero.</summary>
    Homing = 2,

    /// <summary>It cleared a latched fault.</summary>
    FaultClear = 3,
}
