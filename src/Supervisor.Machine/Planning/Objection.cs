using Supervisor.Records.Commands;

namespace Supervisor.Machine.Planning;

/// <summary>Why a command cannot be begun.</summary>
/// <param name="Reason">The reason as programs read it.</param>
/// <param name="Axis">Axis that decided; -1 when none did.</param>
/// <param name="Message">The reason as people read it: what stands in the way, and what to do.</param>
internal sealed record Objection(Refusal Reason, int Axis, string Message);
