using Supervisor.Machine.Brakes;
using Supervisor.Machine.Outputs;
using Supervisor.Motion.Heating;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Api;

/// <summary>The whole machine at one instant, for faces: an immutable copy.</summary>
/// <param name="At">Monotonic time of the copy.</param>
/// <param name="Machine">Name of the machine.</param>
/// <param name="Mode">Name of the mode: production, maintenance or manual.</param>
/// <param name="MotionPermitted">True when no interlock is open or waits for its reset.</param>
/// <param name="AuthorityHolder">Who holds the right to command motion; null when nobody does.</param>
/// <param name="Axes">Axes in the file's order.</param>
/// <param name="Interlocks">Interlocks in the file's order.</param>
/// <param name="Ports">Ports in the file's order.</param>
public sealed record MachineStatus(
    TimeSpan At,
    string Machine,
    string Mode,
    bool MotionPermitted,
    string? AuthorityHolder,
    IReadOnlyList<AxisStatus> Axes,
    IReadOnlyList<InterlockStatus> Interlocks,
    IReadOnlyList<PortStatus> Ports)
{
    /// <summary>Zones in the file's order.</summary>
    public IReadOnlyList<ZoneStatus> Zones { get; init; } = [];

    /// <summary>Modules in the file's order.</summary>
    public IReadOnlyList<ModuleStatus> Modules { get; init; } = [];

    /// <summary>Named outputs in the file's order.</summary>
    public IReadOnlyList<OutputStatus> Outputs { get; init; } = [];

    /// <summary>The drives' power; null where the machine file has no power-enable.</summary>
    public PowerStatus? PowerEnable { get; init; }

    /// <summary>The output for an outside monitoring relay; null where there is none.</summary>
    public AliveStatus? Alive { get; init; }

    /// <summary>Signal lights in the file's order.</summary>
    public IReadOnlyList<LightStatus> Lights { get; init; } = [];

    /// <summary>The horn; null where there is none.</summary>
    public HornStatus? Horn { get; init; }
}

/// <summary>One module of inputs and outputs.</summary>
/// <param name="Name">Name in the machine file.</param>
/// <param name="Online">It answers.</param>
/// <param name="OutputsReady">Its own communication time-out is set and read back, so its outputs may be set; false where it has none.</param>
/// <param name="WhatToDo">One sentence for the operator; empty when nothing is to do.</param>
public sealed record ModuleStatus(string Name, bool Online, bool OutputsReady, string WhatToDo)
{
    /// <summary>Failed among its last exchanges, percent.</summary>
    public double ErrorPercent { get; init; }
}

/// <summary>One named output.</summary>
/// <param name="Name">Name in the machine file.</param>
/// <param name="Place">Where it is.</param>
/// <param name="On">Its level as confirmed; null while it is not known.</param>
/// <param name="Confirmed">True when what was ordered last is confirmed.</param>
/// <param name="HeldBecause">What holds its level, such as "gantry is stopped"; empty: it may be set.</param>
public sealed record OutputStatus(string Name, string Place, bool? On, bool Confirmed, string HeldBecause);

/// <summary>The drives' power.</summary>
/// <param name="State">Where it stands.</param>
/// <param name="Fault">Its latched fault.</param>
/// <param name="Axes">Names of the axes behind the contactor.</param>
/// <param name="WhatToDo">One sentence for the operator; empty when nothing is to do.</param>
public sealed record PowerStatus(PowerState State, FaultCode Fault, IReadOnlyList<string> Axes, string WhatToDo);

/// <summary>The alive output.</summary>
/// <param name="Place">Where it is.</param>
/// <param name="Toggles">False: the relay that watches it acts.</param>
/// <param name="Problem">What it waits for; empty while it toggles.</param>
public sealed record AliveStatus(string Place, bool Toggles, string Problem);

/// <summary>One axis. Positions in its unit, torque in percent of rated. <paramref name="StopLocked"/>: it was stopped and waits for its release.</summary>
public sealed record AxisStatus(
    string Name,
    AxisState State,
    AxisDetail Detail,
    bool Referenced,
    bool Online,
    double Position,
    double Velocity,
    double Torque,
    double Target,
    string Unit,
    IReadOnlyList<string> InhibitedBy,
    FaultCode Fault,
    ushort DriveCode,
    ulong CommandId,
    uint Inputs,
    bool StopLocked)
{
    /// <summary>Computed heat of the motor, percent of the one at which a drive trips; NaN when the machine file does not model it.</summary>
    public double HeatPercent { get; init; } = double.NaN;

    /// <summary>Failed among the last exchanges with its drive, percent.</summary>
    public double ErrorPercent { get; init; }

    /// <summary>Root mean square of the torque over the last minute, percent of rated; NaN when the drive reports none.</summary>
    public double TorqueRmsPercent { get; init; } = double.NaN;

    /// <summary>The torque's squares summed since the start, percent of rated.</summary>
    public LoadSum TorqueLoad { get; init; }

    /// <summary>Percent of the speed a command asks for that the axis is given: below 100 after it did not follow and came back by itself.</summary>
    public double SpeedPercent { get; init; } = 100;

    /// <summary>Name of the interlock whose hardware stop took the power that its fault tells of; null: the fault stands for itself.</summary>
    public string? FaultConsequenceOf { get; init; }

    /// <summary>Whether its brake counts as proven.</summary>
    public BrakeProofStatus BrakeProof { get; init; }
}

/// <summary>One interlock.</summary>
/// <param name="Name">Name in the machine file.</param>
/// <param name="Open">True while an input is open or stale.</param>
/// <param name="NeedsReset">True when it is closed but waits for its reset, or is open and will.</param>
/// <param name="OpenInputs">Texts of the inputs that hold it open, with " (silent)" behind a stale one.</param>
/// <param name="WhatToDo">One sentence for the operator; empty when nothing is to do.</param>
public sealed record InterlockStatus(string Name, bool Open, bool NeedsReset, IReadOnlyList<string> OpenInputs, string WhatToDo);

/// <summary>One port.</summary>
/// <param name="Name">Name in the machine file.</param>
/// <param name="Open">True while the device is open.</param>
/// <param name="CycleMs">Cycle asked for.</param>
/// <param name="Exchanges">Transactions answered since start.</param>
/// <param name="Errors">Transactions that were not, since start.</param>
/// <param name="ExchangeP50Ms">Median duration of recent transactions.</param>
/// <param name="ExchangeP99Ms">99th percentile of recent transactions.</param>
public sealed record PortStatus(string Name, bool Open, double CycleMs, long Exchanges, long Errors, double ExchangeP50Ms, double ExchangeP99Ms)
{
    /// <summary>Time since the port's thread made its last step: its heartbeat, also while the device is unplugged.</summary>
    public double HeartbeatAgeMs { get; init; }

    /// <summary>What is wrong with its device and what to do; empty when nothing is.</summary>
    public string Problem { get; init; } = "";

    /// <summary>Failed among the last exchanges that the machine file's errorRate looks back at, percent.</summary>
    public double ErrorPercent { get; init; }

    /// <summary>Exchanges in the last minute.</summary>
    public ExchangeCounts LastMinute { get; init; }

    /// <summary>Exchanges in the last hour.</summary>
    public ExchangeCounts LastHour { get; init; }

    /// <summary>Cycles skipped and greatest lateness since the start.</summary>
    public CycleOverruns Overruns { get; init; }

    /// <summary>The same in the last minute.</summary>
    public CycleOverruns OverrunsLastMinute { get; init; }

    /// <summary>The same in the last hour.</summary>
    public CycleOverruns OverrunsLastHour { get; init; }
}

/// <summary>Exchanges of a port, and those among them that failed.</summary>
public readonly record struct ExchangeCounts(long Exchanges, long Errors);

/// <summary>Cycles of a port that were skipped, and how late one began at most.</summary>
/// <param name="Skipped">Cycles.</param>
/// <param name="WorstLateMs">Milliseconds.</param>
public readonly record struct CycleOverruns(long Skipped, double WorstLateMs);
