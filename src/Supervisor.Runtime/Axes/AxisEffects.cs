namespace Supervisor.Runtime.Axes;

/// <summary>What a transition does besides changing the node.</summary>
[Flags]
public enum AxisEffects : ushort
{
    None = 0,

    /// <summary>The command in hand ends: another took its place.</summary>
    Replace = 1,

    /// <summary>The given command is taken in hand.</summary>
    Take = 2,

    /// <summary>The command in hand ends: done.</summary>
    Done = 4,

    /// <summary>The command in hand ends: failed.</summary>
    Fail = 8,

    /// <summary>The fault is latched and reported; the command in hand fails.</summary>
    Latch = 16,

    /// <summary>A second fault is reported beside the latched one.</summary>
    Report = 32,

    /// <summary>The latched fault is gone.</summary>
    Unlatch = 64,

    /// <summary>The zero is no longer known.</summary>
    LoseReference = 128,

    /// <summary>The zero is known.</summary>
    GainReference = 256,

    /// <summary>The actual position is where the axis must now stay.</summary>
    Stay = 512,
}

/// <summary>The one deadline a node may wait for, and thereby its reason.</summary>
public enum AxisDeadline : byte
{
    None = 0,

    /// <summary>The deadline of the node before goes on.</summary>
    Keep = 1,
    Energise = 2,
    BrakeRelease = 3,
    Home = 4,
    Move = 5,
    Stop = 6,
    BrakeClose = 7,
    PowerOff = 8,
    Clear = 9,
    JogLapse = 10,

    /// <summary>A proof of the brake: until it must have ended.</summary>
    Prove = 11,
}
