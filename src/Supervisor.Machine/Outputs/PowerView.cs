using Supervisor.Records.Faults;

namespace Supervisor.Machine.Outputs;

/// <summary>The power-enable as shown.</summary>
/// <param name="State">Where it stands.</param>
/// <param name="Fault">The latched fault.</param>
/// <param name="IsFeedbackSilent">The mirror contact does not answer.</param>
internal sealed record PowerView(PowerState State, FaultCode Fault, bool IsFeedbackSilent);
