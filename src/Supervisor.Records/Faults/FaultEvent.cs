using Supervisor.Records.Axes;

namespace Supervisor.Records.Faults;

/// <summary>A fault as a port reports it: fixed size, no text, so that it can cross a ring without allocation.</summary>
/// <param name="At">Monotonic time since boot at which it was seen.</param>
/// <param name="Axis">Index of the axis in the machine file; -1 when it concerns a port or an interlock.</param>
/// <param name="Port">Index of the port in the machine file; -1 when none.</param>
/// <param name="Code">What went wrong.</param>
/// <param name="DriveCode">The drive's own number (603Fh for CiA 402), 0 when it gave none.</param>
/// <param name="State">State of the axis before the fault.</param>
/// <param name="CommandId">Command in hand, 0 when none.</param>
/// <param name="Position">Actual position in the axis's unit.</param>
public readonly record struct FaultEvent(
    TimeSpan At, short Axis, short Port, FaultCode Code, ushort DriveCode, AxisState State, ulong CommandId, double Position)
{
    /// <summary>Index of the module it is about in the machine file; -1: none.</summary>
    public short Module { get; init; } = -1;

    /// <summary>Index of the output it is about among all outputs of the machine; -1: none.</summary>
    public short Output { get; init; } = -1;

    /// <summary>The parameter it is about; the default: about none.</summary>
    public ParameterDifference Parameter { get; init; }

    /// <summary>What a device told of itself that is not accepted; the default: it is not about that.</summary>
    public IdentityDifference Identity { get; init; }

    /// <summary>Index of the interlock whose hardware stop it follows from: power was taken, and it leads to nothing else; -1: it stands for itself.</summary>
    public short ConsequenceOf { get; init; } = -1;

    /// <summary>Index of the zone it is about; -1 for none.</summary>
    public short Zone { get; init; } = -1;
}
