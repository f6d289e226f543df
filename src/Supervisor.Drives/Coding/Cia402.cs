namespace Supervisor.Drives.Coding;

/// <summary>States of the CiA 402 power drive system (IEC 61800-7-201).</summary>
public enum Cia402State : byte
{
    NotReadyToSwitchOn = 0,
    SwitchOnDisabled = 1,
    ReadyToSwitchOn = 2,
    SwitchedOn = 3,
    OperationEnabled = 4,
    QuickStopActive = 5,
    FaultReactionActive = 6,
    Fault = 7,
}

/// <summary>Words of CiA 402: statusword 6041h, controlword 6040h, modes 6060h.</summary>
public static class Cia402
{
    public const ushort DisableVoltage = 0x00;
    public const ushort QuickStop = 0x02;
    public const ushort Shutdown = 0x06;
    public const ushort SwitchOn = 0x07;
    public const ushort DisableOperation = 0x07;
    public const ushort EnableOperation = 0x0F;
    public const ushort FaultReset = 0x80;

    /// <summary>Controlword bit 4: new set-point (profile position), start (homing).</summary>
    public const ushort Start = 0x10;

    /// <summary>Controlword bit 5: a new set-point replaces the running one at once.</summary>
    public const ushort ChangeImmediately = 0x20;

    /// <summary>Controlword bit 8.</summary>
    public const ushort Halt = 0x100;

    /// <summary>Controlword bits 11 to 15: the maker's own (value from memory).</summary>
    public const ushort MakersBits = 0xF800;

    public const ushort TargetReached = 0x400;

    /// <summary>Statusword bit 12: set-point acknowledged (profile position), homing attained (homing).</summary>
    public const ushort SetpointAcknowledged = 0x1000;
    public const ushort HomingAttained = 0x1000;
    public const ushort HomingError = 0x2000;

    public const short ProfilePosition = 1;
    public const short Homing = 6;

    /// <summary>The state a statusword tells: the masks of the standard's table.</summary>
    public static Cia402State State(ushort statusword) => (statusword & 0x4F) switch
    {
        0x40 => Cia402State.SwitchOnDisabled,
        0x0F => Cia402State.FaultReactionActive,
        0x08 => Cia402State.Fault,
        0x00 => Cia402State.NotReadyToSwitchOn,
        _ => (statusword & 0x6F) switch
        {
            0x21 => Cia402State.ReadyToSwitchOn,
            0x23 => Cia402State.SwitchedOn,
            0x27 => Cia402State.OperationEnabled,
            0x07 => Cia402State.QuickStopActive,
            _ => Cia402State.NotReadyToSwitchOn,
        },
    };
}
