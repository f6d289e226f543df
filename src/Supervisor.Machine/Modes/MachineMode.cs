namespace Supervisor.Machine.Modes;

/// <summary>What the machine is used for at the moment. Choosing one starts nothing: a separate command does.</summary>
/// <remarks>After the choice of control or operating modes of 2006/42/EC, annex I, 1.2.5. A mode is no protective measure: what protects people in it is wired.</remarks>
public enum MachineMode : byte
{
    /// <summary>Routines and commands at full speed.</summary>
    Production = 0,

    /// <summary>Repair and set-up: reduced speed, drive parameters, slow jog of an axis that does not know its place.</summary>
    Maintenance = 1,

    /// <summary>By hand: single commands at reduced speed.</summary>
    Manual = 2,
}
