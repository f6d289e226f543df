namespace Supervisor.Simulation.Drives.Cia402;

/// <summary>States of the CiA 402 power drive system.</summary>
public enum Cia402State
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

/// <summary>Commands in bits 0 to 3 of the controlword.</summary>
internal enum Cia402Command
{
    None = 0,
    Shutdown = 1,

    /// <summary>Also "disable operation": the same bits.</summary>
    SwitchOn = 2,
    EnableOperation = 3,
    DisableVoltage = 4,
    QuickStop = 5,
}

/// <summary>The standard's tables: how states are told, how commands are read, which command leads where.</summary>
internal static class Cia402Table
{
    /// <summary>Transitions by command. 0, 1, 13, 14 and 15 are not commanded by bits 0 to 3.</summary>
    private static readonly (int Number, Cia402State From, Cia402Command On, Cia402State To)[] Transitions =
    [
        (2, Cia402State.SwitchOnDisabled, Cia402Command.Shutdown, Cia402State.ReadyToSwitchOn),
        (3, Cia402State.ReadyToSwitchOn, Cia402Command.SwitchOn, Cia402State.SwitchedOn),
        (3, Cia402State.ReadyToSwitchOn, Cia402Command.EnableOperation, Cia402State.SwitchedOn),
        (4, Cia402State.SwitchedOn, Cia402Command.EnableOperation, Cia402State.OperationEnabled),
        (5, Cia402State.OperationEnabled, Cia402Command.SwitchOn, Cia402State.SwitchedOn),
        (6, Cia402State.SwitchedOn, Cia402Command.Shutdown, Cia402State.ReadyToSwitchOn),
        (7, Cia402State.ReadyToSwitchOn, Cia402Command.DisableVoltage, Cia402State.SwitchOnDisabled),
        (7, Cia402State.ReadyToSwitchOn, Cia402Command.QuickStop, Cia402State.SwitchOnDisabled),
        (8, Cia402State.OperationEnabled, Cia402Command.Shutdown, Cia402State.ReadyToSwitchOn),
        (9, Cia402State.OperationEnabled, Cia402Command.DisableVoltage, Cia402State.SwitchOnDisabled),
        (10, Cia402State.SwitchedOn, Cia402Command.DisableVoltage, Cia402State.SwitchOnDisabled),
        (10, Cia402State.SwitchedOn, Cia402Command.QuickStop, Cia402State.SwitchOnDisabled),
        (11, Cia402State.OperationEnabled, Cia402Command.QuickStop, Cia402State.QuickStopActive),
        (12, Cia402State.QuickStopActive, Cia402Command.DisableVoltage, Cia402State.SwitchOnDisabled),
        (16, Cia402State.QuickStopActive, Cia402Command.EnableOperation, Cia402State.OperationEnabled),
    ];

    /// <summary>Statusword bits 0 to 3, 5 and 6 of a state.</summary>
    public static ushort Bits(Cia402State state) => state switch
    {
        Cia402State.NotReadyToSwitchOn => 0x00,
        Cia402State.SwitchOnDisabled => 0x40,
        Cia402State.ReadyToSwitchOn => 0x21,
        Cia402State.SwitchedOn => 0x23,
        Cia402State.OperationEnabled => 0x27,
        Cia402State.QuickStopActive => 0x07,
        Cia402State.FaultReactionActive => 0x0F,
        _ => 0x08,
    };

    /// <summary>The command in a controlword; none while bit 7 is set, which is a fault reset.</summary>
    public static Cia402Command Read(ushort controlword) => controlword switch
    {
        _ when (controlword & 0x80) != 0 => Cia402Command.None,
        _ when (controlword & 0x02) == 0 => Cia402Command.DisableVoltage,
        _ when (controlword & 0x04) == 0 => Cia402Command.QuickStop,
        _ when (controlword & 0x01) == 0 => Cia402Command.Shutdown,
        _ => (controlword & 0x08) == 0 ? Cia402Command.SwitchOn : Cia402Command.EnableOperation,
    };

    /// <summary>Where a command leads; number 0 when it leads nowhere.</summary>
    public static (int Number, Cia402State To) Find(Cia402State from, Cia402Command command)
    {
        foreach (var row in Transitions)
        {
            if (row.From == from && row.On == command)
            {
                return (row.Number, row.To);
            }
        }

        return (0, from);
    }
}
