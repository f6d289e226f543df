namespace Supervisor.Machine.Outputs;

/// <summary>Where the drives' power stands, by the power-enable output and the contactor's mirror contact.</summary>
public enum PowerState : byte
{
    Off = 0,

    /// <summary>Switched on; the mirror contact has not opened yet.</summary>
    SwitchingOn = 1,
    On = 2,

    /// <summary>Switched off; the mirror contact has not closed yet.</summary>
    SwitchingOff = 3,

    /// <summary>A latched fault: off, or going off once no axis behind it has torque any more. Only a person's reset ends it.</summary>
    Faulted = 4,
}
