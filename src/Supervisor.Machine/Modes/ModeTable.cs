using static Supervisor.Machine.Modes.ModeAct;

namespace Supervisor.Machine.Modes;

/// <summary>What a mode may permit.</summary>
public enum ModeAct : byte
{
    /// <summary>Torque on an axis that knows its place.</summary>
    Energise = 0,

    /// <summary>Torque on an axis that does not, and jogging it.</summary>
    EnergiseUnreferenced = 1,
    Home = 2,

    /// <summary>Moves, contact moves and jogs.</summary>
    Move = 3,

    /// <summary>Any speed up to an axis's limit; otherwise its jog velocity is the limit.</summary>
    FullSpeed = 4,

    /// <summary>A routine.</summary>
    Routine = 5,

    /// <summary>Bringing an axis back without a person, where the machine file says so.</summary>
    Recover = 6,

    /// <summary>Writing drive parameters from a file.</summary>
    WriteParameters = 7,

    /// <summary>Setting an output.</summary>
    SetOutput = 8,

    /// <summary>Switching the drives' power on.</summary>
    SwitchPowerOn = 9,

    /// <summary>Leaving a drive unasked to prove its communication time-out.</summary>
    ProveTimeout = 10,
}

/// <summary>What each mode permits. Stopping, halting, disabling, releasing and resetting, also saying that a held load is supported, are permitted in all.</summary>
public static class ModeTable
{
    private static readonly ModeRow[] All =
    [
        //                          production    maintenance   manual
        new(Energise,               true,         true,         true),
        new(EnergiseUnreferenced,   false,        true,         false),
        new(Home,                   true,         true,         true),
        new(Move,                   true,         true,         true),
        new(FullSpeed,              true,         false,        false),
        new(Routine,                true,         false,        false),
        new(Recover,                true,         false,        false),
        new(WriteParameters,        false,        true,         false),
        new(SetOutput,              true,         true,         true),
        new(SwitchPowerOn,          true,         true,         true),
        new(ProveTimeout,           false,        true,         false),
    ];

    /// <summary>The rows, one an act.</summary>
    public static IReadOnlyList<ModeRow> Rows => All;

    /// <summary>Whether a mode permits an act.</summary>
    public static bool Permits(MachineMode mode, ModeAct act)
    {
        var row = All[(int)act];
        return mode switch
        {
            MachineMode.Production => row.Production,
            MachineMode.Maintenance => row.Maintenance,
            _ => row.Manual,
        };
    }
}

/// <summary>One act and the modes that permit it.</summary>
public readonly record struct ModeRow(ModeAct Act, bool Production, bool Maintenance, bool Manual);
