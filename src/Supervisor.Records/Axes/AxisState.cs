namespace Supervisor.Records.Axes;

/// <summary>What an axis is doing, in the words every face of the program uses.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum AxisState : byte
{
    /// <summary>Torque is off, or is about to be switched on or off.</summary>
    Disabled = 0,

    /// <summary>The axis looks for its zero.</summary>
    Homing = 1,

    /// <summary>Torque is on, the axis stands and takes commands.</summary>
    Ready = 2,

    /// <summary>A move runs or is being stopped.</summary>
    Moving = 3,

    /// <summary>A fault is latched; only a reset leaves it.</summary>
    Faulted = 4,
}
