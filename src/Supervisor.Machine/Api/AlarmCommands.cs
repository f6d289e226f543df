namespace Supervisor.Machine.Api;

/// <summary>Raises an alarm of the machine file that has neither input nor counter.</summary>
/// <param name="Number">Its number.</param>
public sealed record RaiseAlarmCommand(int Number) : MachineCommand;

/// <summary>Ends the condition of such an alarm; done also where it does not stand.</summary>
/// <param name="Number">Its number.</param>
public sealed record ClearAlarmCommand(int Number) : MachineCommand;

/// <summary>Adds to a counter.</summary>
/// <param name="Counter">Index in the machine file.</param>
/// <param name="By">How many, 1 or more.</param>
public sealed record CountCommand(int Counter, long By) : MachineCommand;
