using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Api;

/// <summary>How a command ended, told once.</summary>
/// <param name="Id">Id given on submission, 0 when it was refused before it got one.</param>
/// <param name="Outcome">Done, replaced, refused or failed.</param>
/// <param name="Refusal">Why it was refused or replaced.</param>
/// <param name="Fault">Why it failed.</param>
/// <param name="Axis">Index of the axis that decided; -1 when none.</param>
/// <param name="Message">A sentence for a person: what stands in the way, with values and limits, and what to do.</param>
/// <param name="Value">Contact position in the axis's unit for a contact move; the farthest movement of a proof of brakes; otherwise null.</param>
public sealed record CommandAnswer(ulong Id, Outcome Outcome, Refusal Refusal, FaultCode Fault, int Axis, string Message, double? Value);

/// <summary>A submitted command.</summary>
/// <param name="Id">Its id; outcomes, status and history name it.</param>
/// <param name="Accepted">Ends with null once every axis concerned has taken the command, or with the answer when it ended before that (refused).</param>
/// <param name="Completion">Ends with the answer; never faults.</param>
public sealed record CommandTicket(ulong Id, Task<CommandAnswer?> Accepted, Task<CommandAnswer> Completion);
