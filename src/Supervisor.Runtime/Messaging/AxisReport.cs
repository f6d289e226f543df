using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Runtime.Messaging;

/// <summary>What became of a command on one axis. An accepted command is reported twice: taken, then ended; a refused one once.</summary>
/// <param name="CommandId">The command.</param>
/// <param name="Axis">Index of the axis.</param>
/// <param name="Outcome"><see cref="Outcome.None"/>: taken; otherwise how it ended.</param>
/// <param name="Refusal">Why it was refused or replaced.</param>
/// <param name="Fault">Why it failed.</param>
/// <param name="Value">Contact position, the movement of a brake proof, or the limit or value that a refusal is about, in the axis's unit.</param>
/// <param name="At">Monotonic time.</param>
public readonly record struct AxisReport(
    ulong CommandId, short Axis, Outcome Outcome, Refusal Refusal, FaultCode Fault, double Value, TimeSpan At);
