using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Drives;

/// <summary>One of a drive's own fault numbers, as its definition explains it.</summary>
/// <param name="Code">The drive's number, 1 to 65535, as it stands in <c>errorCode</c>.</param>
/// <param name="Fault">What the supervisor calls it.</param>
/// <param name="Text">What the drive's manual calls it; null when the definition does not say.</param>
/// <param name="Clear">What makes it go away once its cause is gone.</param>
public sealed record DriveFaultDefinition(ushort Code, FaultCode Fault, string? Text, FaultClear Clear)
{
    /// <summary>What the drive must be given with its reset for this fault; null: nothing more.</summary>
    public FaultClearWrite? ClearWrite { get; init; }
}

/// <summary>A number that a drive wants with the reset of one of its faults.</summary>
/// <param name="Field">Name of the command field it is written to; 0 stands there otherwise.</param>
/// <param name="Value">The number as the register holds it.</param>
public sealed record FaultClearWrite(string Field, long Value);

/// <summary>What clears a drive's fault once its cause is gone.</summary>
public enum FaultClear
{
    /// <summary>The drive's reset: what a reset of the axis sends.</summary>
    Reset = 0,

    /// <summary>Only switching the drive off and on; a reset alone fails.</summary>
    PowerCycle = 1,
}
