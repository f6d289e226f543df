namespace Supervisor.Machine.Api;

/// <summary>A command that needs no authority, since nothing moves by it. It is recorded with the name it came with.</summary>
/// <param name="By">Name of the person or program; empty when it is not known.</param>
public abstract record UnheldCommand(string By) : MachineCommand;

/// <summary>Silences the horn; it sounds again at the next alarm. Acknowledges nothing.</summary>
public sealed record SilenceHornCommand(string By = "") : UnheldCommand(By);

/// <summary>Lights every signal light for as long as the machine file says.</summary>
/// <param name="Horn">The horn sounds too.</param>
/// <param name="By">Name of the person or program.</param>
public sealed record TestLampsCommand(bool Horn, string By = "") : UnheldCommand(By);

/// <summary>Sets a counter back to 0.</summary>
/// <param name="Counter">Index in the machine file.</param>
/// <param name="By">Name of the person or program.</param>
public sealed record ResetCounterCommand(int Counter, string By = "") : UnheldCommand(By);
