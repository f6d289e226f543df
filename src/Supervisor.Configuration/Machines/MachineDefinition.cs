using Supervisor.Motion.Stopping;
using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Languages;
using Supervisor.Configuration.Machines.Messages;
using Supervisor.Configuration.Signals;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Machines;

/// <summary>A machine file, read and checked: immutable, every reference resolved to an index. Order is the file's order.</summary>
/// <param name="Name">Name of the machine.</param>
/// <param name="Ports">Serial ports.</param>
/// <param name="Axes">Axes.</param>
/// <param name="Interlocks">Interlocks, at most 40.</param>
/// <param name="Groups">Groups of axes, made from the axes' <c>group</c> members, at most 20.</param>
public sealed record MachineDefinition(
    string Name,
    IReadOnlyList<PortDefinition> Ports,
    IReadOnlyList<AxisDefinition> Axes,
    IReadOnlyList<InterlockDefinition> Interlocks,
    IReadOnlyList<GroupDefinition> Groups)
{
    /// <summary>Modbus modules of digital inputs and outputs, at most 32.</summary>
    public IReadOnlyList<ModuleDefinition> Modules { get; init; } = [];

    /// <summary>What becomes of authority whose holder is lost.</summary>
    public AuthorityDefinition Authority { get; init; } = AuthorityDefinition.Default;

    /// <summary>Named outputs, in the file's order.</summary>
    public IReadOnlyList<OutputDefinition> Outputs { get; init; } = [];

    /// <summary>The output that lets the drives' contactor close; null when there is none.</summary>
    public PowerEnableDefinition? PowerEnable { get; init; }

    /// <summary>The output that toggles while all is well; null when there is none.</summary>
    public AliveDefinition? Alive { get; init; }

    /// <summary>How what happens is kept.</summary>
    public HistoryDefinition History { get; init; } = HistoryDefinition.Default;

    /// <summary>How long alarms may be out of service.</summary>
    public OutOfServiceDefinition OutOfService { get; init; } = OutOfServiceDefinition.Default;

    /// <summary>Channels on which incidents are told to a person, at most 8.</summary>
    public IReadOnlyList<MessageChannel> Messages { get; init; } = [];

    /// <summary>Zones where axes may collide, at most 64.</summary>
    public IReadOnlyList<ZoneDefinition> Zones { get; init; } = [];

    /// <summary>Languages of the texts below.</summary>
    public LanguageList Languages { get; init; } = LanguageList.Default;

    /// <summary>Counters that are kept until a person resets them, at most 64.</summary>
    public IReadOnlyList<CounterDefinition> Counters { get; init; } = [];

    /// <summary>The builder's own alarms, at most 500.</summary>
    public IReadOnlyList<OwnAlarmDefinition> Alarms { get; init; } = [];

    /// <summary>Signal lights and horn.</summary>
    public SignalsDefinition Signals { get; init; } = SignalsDefinition.None;
}

/// <summary>A serial port as the machine file asks for it.</summary>
/// <param name="Name">Name in the machine.</param>
/// <param name="Device">Path of the device node, absolute.</param>
/// <param name="Baud">Bits per second, above 0.</param>
/// <param name="Parity">Parity bit.</param>
/// <param name="StopBits">1 or 2.</param>
/// <param name="Cycle">Time in which every axis of the port is exchanged once.</param>
/// <param name="Gap">Silence between frames.</param>
/// <param name="ResponseTimeout">Time a reply may take.</param>
/// <param name="Retries">Repeats of one request within its cycle, 0 to 10.</param>
public sealed record PortDefinition(
    string Name, string Device, int Baud, ParityKind Parity, int StopBits, TimeSpan Cycle, GapDefinition Gap, TimeSpan ResponseTimeout, int Retries)
{
    /// <summary>Direction switched by the port's driver; null: by the adapter itself.</summary>
    public Rs485Definition? Rs485 { get; init; }

    /// <summary>Shares of failed exchanges that are told, for each drive of the port and for all of them together.</summary>
    public ErrorRateDefinition ErrorRate { get; init; } = ErrorRateDefinition.Usual;
}

/// <summary>Parity bit of a line.</summary>
public enum ParityKind
{
    None = 0,
    Even = 1,
    Odd = 2,
}

/// <summary>Silence between frames.</summary>
public enum GapKind
{
    Standard = 0,
    Proportional = 1,
    Fixed = 2,
}

/// <summary>Silence between frames; <paramref name="Fixed"/> counts only for <see cref="GapKind.Fixed"/>.</summary>
public readonly record struct GapDefinition(GapKind Kind, TimeSpan Fixed);

/// <summary>An axis: a drive with unit, limits, homing and policies.</summary>
/// <param name="Name">Name in the machine.</param>
/// <param name="Port">Index into <see cref="MachineDefinition.Ports"/>.</param>
/// <param name="Address">Unit address on the line, 1 to 247.</param>
/// <param name="Drive">What the drive's registers mean.</param>
/// <param name="Unit">Name of the position unit, such as mm or deg.</param>
/// <param name="CountsPerUnit">Drive counts of one unit, above 0.</param>
/// <param name="Inverted">True when the drive's positive direction is the axis's negative one.</param>
/// <param name="EndlessPeriod">Length of one turn in units for an axis without ends; null for one with ends.</param>
/// <param name="Limits">Limits of position, velocity and ramps.</param>
/// <param name="InPosition">When a move counts as arrived.</param>
/// <param name="FollowingError">Supervised following error; null: the drive's own supervision only.</param>
/// <param name="Torque">Torque limits by phase in percent of rated; null: 100 in every phase.</param>
/// <param name="Homing">How the zero is found; null for axes that are not homed.</param>
/// <param name="Reference">Whether and how a zero is kept.</param>
/// <param name="GravityLoaded">True when the axis sinks without torque: its stop goes out first.</param>
/// <param name="Brake">Times of the holding brake; null when there is none.</param>
/// <param name="Group">Index into <see cref="MachineDefinition.Groups"/>; null when the axis stands alone.</param>
/// <param name="CommunicationTimeout">Silence after which the drive stops by itself.</param>
/// <param name="Recovery">What may be recovered without a person; empty by default.</param>
public sealed record AxisDefinition(
    string Name,
    int Port,
    byte Address,
    DriveDefinition Drive,
    string Unit,
    double CountsPerUnit,
    bool Inverted,
    double? EndlessPeriod,
    LimitsDefinition Limits,
    InPositionDefinition InPosition,
    FollowingErrorDefinition? FollowingError,
    TorqueDefinition? Torque,
    HomingDefinition? Homing,
    ReferenceKind Reference,
    bool GravityLoaded,
    BrakeDefinition? Brake,
    int? Group,
    TimeSpan CommunicationTimeout,
    IReadOnlyList<RecoveryDefinition> Recovery)
{
    /// <summary>Velocity of a jog that names none, where the file names none: a slow share of the limit (common practice, no source).</summary>
    public const double DefaultJogShare = 0.1;

    /// <summary>The input that must be closed and fresh while the axis jogs; null: none.</summary>
    public InputReference? EnablingInput { get; init; }

    /// <summary>Velocity of a jog that names none, unit/s.</summary>
    public double JogVelocity { get; init; } = Limits.Velocity * DefaultJogShare;

    /// <summary>Model of its motor's heating; null when it is not watched here.</summary>
    public HeatingDefinition? Heating { get; init; }

    /// <summary>Torque that the load alone takes, percent of rated; null when it is not known.</summary>
    public double? GravityTorque { get; init; }

    /// <summary>Parameters of the drive that the file fixes, in the file's order; without those that other members set, such as homing.</summary>
    public IReadOnlyList<FixedParameter> Parameters { get; init; } = [];

    /// <summary>Longest time from the loss of the supervisor to rest and a closed brake; null when the file states none.</summary>
    public TimeSpan? StopBudget { get; init; }

    /// <summary>A stop as measured at the commissioning; null when later ones are compared with nothing.</summary>
    public StopDefinition? Stop { get; init; }

    /// <summary>What a contact move that goes wrong means.</summary>
    public ContactDefinition Contact { get; init; } = new(null, ContactFailure.Fail, ContactFailure.Fail);
}

/// <summary>A parameter of a drive that the machine file fixes.</summary>
/// <param name="Field">The drive definition's entry.</param>
/// <param name="Value">Value after scaling, in the field's unit.</param>
/// <param name="OnDifference">What is done when the drive has another one.</param>
public sealed record FixedParameter(RegisterField Field, double Value, DifferenceAction OnDifference);

/// <summary>What is done when a drive's parameter is not what the machine file fixes. The difference is always told.</summary>
public enum DifferenceAction
{
    /// <summary>The drive is given the file's value.</summary>
    Write = 0,

    /// <summary>The axis is faulted until the drive has the file's value.</summary>
    Refuse = 1,

    /// <summary>The drive keeps its own.</summary>
    Warn = 2,
}

/// <summary>What a contact move that goes wrong means.</summary>
/// <param name="EarlyBefore">Position (unit) before which, seen along the move, a contact is too early; null: never.</param>
/// <param name="Early">What a contact too early is.</param>
/// <param name="Missing">What a missing contact is.</param>
public sealed record ContactDefinition(double? EarlyBefore, ContactFailure Early, ContactFailure Missing);

/// <summary>What a contact move that goes wrong is.</summary>
public enum ContactFailure
{
    /// <summary>The command fails; the axis stays Ready.</summary>
    Fail = 0,

    /// <summary>A latched fault.</summary>
    Fault = 1,
}

/// <summary>Limits in the axis's unit; a missing position limit is null.</summary>
public sealed record LimitsDefinition(
    double? LowerPosition, double? UpperPosition, double Velocity, double Acceleration, double Deceleration, double? Jerk)
{
    /// <summary>What is slower counts as standing, unit/s: half a per cent of top speed, since drives show some noise at rest (common practice).</summary>
    public double RestVelocity => Velocity * 0.005;

    /// <summary>Time of a stop on the steepest ramp, with its jerk where that is limited.</summary>
    /// <param name="velocity">Unit/s; its sign does not matter.</param>
    public TimeSpan StoppingTime(double velocity) => Jerk is { } jerk
        ? StopCalculation.StoppingTime(velocity, Deceleration, jerk)
        : StopCalculation.StoppingTime(velocity, Deceleration);

    /// <summary>Way of such a stop, unit.</summary>
    /// <param name="velocity">Unit/s; its sign does not matter.</param>
    public double StoppingDistance(double velocity) => Jerk is { } jerk
        ? StopCalculation.StoppingDistance(velocity, Deceleration, jerk)
        : StopCalculation.StoppingDistance(velocity, Deceleration);

    /// <summary>Time by which limited jerk lengthens a ramp at most: that in which it is built up.</summary>
    /// <param name="ramp">Acceleration or deceleration, unit/s², above 0.</param>
    public TimeSpan Rounding(double ramp) => Jerk is { } jerk ? TimeSpan.FromSeconds(ramp / jerk) : TimeSpan.Zero;
}

/// <summary>A move has arrived once the axis stayed within <paramref name="Window"/> (unit) of the target for <paramref name="Dwell"/>.</summary>
public sealed record InPositionDefinition(double Window, TimeSpan Dwell);

/// <summary>A fault once the following error exceeds <paramref name="Limit"/> (unit) for <paramref name="For"/>.</summary>
public sealed record FollowingErrorDefinition(double Limit, TimeSpan For);

/// <summary>Torque limits by phase, percent of rated.</summary>
public sealed record TorqueDefinition(double Homing, double Moving, double Holding, double Contact, double Stopping);

/// <summary>A motor's heating as IEC 60255-149 models it: first order, by the square of the load.</summary>
/// <param name="TimeConstant">Time in which a constant load brings it to 63 % of its final heat, up to 10 h.</param>
/// <param name="ContinuousTorque">Torque that may be kept for ever, percent of rated, above 0.</param>
/// <param name="WarnAt">Heat from which to warn, percent of the one at which a drive trips, above 0, at most 100.</param>
public sealed record HeatingDefinition(TimeSpan TimeConstant, double ContinuousTorque, double WarnAt);

/// <summary>How the zero is found.</summary>
/// <param name="Method">Homing method number of CiA 402 (object 6098h).</param>
/// <param name="Fast">Velocity towards the switch, unit/s.</param>
/// <param name="Slow">Velocity away from or onto it, unit/s.</param>
/// <param name="Offset">Position of the found zero, unit.</param>
/// <param name="Timeout">Longest duration.</param>
/// <param name="Order">Axes with a lower order are homed first; equal orders home together.</param>
public sealed record HomingDefinition(int Method, double Fast, double Slow, double Offset, TimeSpan Timeout, int Order)
{
    /// <summary>Farthest way from where the search begins, unit; null: no limit but the time.</summary>
    public double? DistanceLimit { get; init; }

    /// <summary>What must stay clear while the axis is homed.</summary>
    public IReadOnlyList<ClearCondition> ClearOf { get; init; } = [];

    /// <summary>The end stop to press against; null when the drive looks for the zero by its method.</summary>
    public HardStopDefinition? HardStop { get; init; }

    /// <summary>True when the method takes the present position for the zero without looking (CiA 402 methods 35 and 37): a person must confirm that it is there.</summary>
    public bool OnlySetsZero => HardStop is null && Method is 35 or 37;
}

/// <summary>A condition that must hold while an axis is homed: another axis between two positions, or an input closed.</summary>
/// <param name="Axis">Index of the other axis; -1 for an input.</param>
/// <param name="Lower">Least position of the other axis, its unit.</param>
/// <param name="Upper">Greatest position of the other axis, its unit.</param>
/// <param name="Input">The input; null for an axis.</param>
public sealed record ClearCondition(int Axis, double Lower, double Upper, InputReference? Input);

/// <summary>Homing against an end stop, supervised from here.</summary>
/// <param name="Direction">1 towards rising positions, -1 towards falling ones.</param>
/// <param name="Torque">Percent of rated that proves the stop, and limits the pressing.</param>
/// <param name="For">How long the axis must stand and press.</param>
/// <param name="BackOff">How far it goes back once the zero is set, unit.</param>
public sealed record HardStopDefinition(int Direction, double Torque, TimeSpan For, double BackOff);

/// <summary>Whether and how an axis keeps its zero.</summary>
public enum ReferenceKind
{
    Incremental = 0,
    Absolute = 1,
    None = 2,
}

/// <summary>Times of a holding brake that the drive operates.</summary>
public sealed record BrakeDefinition(TimeSpan Release, TimeSpan Close)
{
    /// <summary>How the brake is proven; null: not.</summary>
    public BrakeProofDefinition? Proof { get; init; }
}

/// <summary>
/// A proof of the brake: the motor pushes against the closed brake, which must hold. It is not the safe brake test (SBT) of IEC 61800-5-2,
/// as nothing of it is fail-safe: it finds a worn brake early.
/// </summary>
/// <param name="Torque">Torque of the motor, percent of rated, above 0; the load's own weight comes on top in the direction in which it sinks.</param>
/// <param name="For">How long the brake must hold it in each direction.</param>
/// <param name="Movement">Farthest the axis may move meanwhile, unit, above 0.</param>
/// <param name="Reach">How far off the target is set by which the motor is made to push, unit, above <paramref name="Movement"/>: where a brake lets go, the axis ends there.</param>
public sealed record BrakeProofDefinition(double Torque, TimeSpan For, double Movement, double Reach)
{
    /// <summary>Which way the motor pushes.</summary>
    public ProofDirection Direction { get; init; }

    /// <summary>Longest time between two proofs that were passed; null: on demand only.</summary>
    public TimeSpan? Every { get; init; }

    /// <summary>What follows when it is overdue.</summary>
    public OverdueProof WhenOverdue { get; init; }

    /// <summary>Time from overdue until motion is refused.</summary>
    public TimeSpan Grace { get; init; }
}

/// <summary>Which way the motor pushes against its closed brake.</summary>
public enum ProofDirection
{
    /// <summary>Towards rising positions, then towards falling ones.</summary>
    Both = 0,
    Positive = 1,
    Negative = 2,
}

/// <summary>What follows when the proof of a brake is overdue.</summary>
public enum OverdueProof
{
    Warn = 0,

    /// <summary>A warning, and after the grace no motion before the brake is proven.</summary>
    Refuse = 1,
}

/// <summary>Axes that must stop or move together.</summary>
public sealed record GroupDefinition(string Name, IReadOnlyList<int> Axes);

/// <summary>A condition that must hold for motion.</summary>
/// <param name="Name">Name as the machine's people call it.</param>
/// <param name="Kind">Decides who may reset it and whether it may be delayed.</param>
/// <param name="Inputs">Inputs that all must be closed.</param>
/// <param name="Discrepancy">Longest time two channels may differ; null when there is one channel.</param>
/// <param name="StopCategory">0, 1 or 2 as in IEC 60204-1, 9.2.2.</param>
/// <param name="Axes">Indices of the axes it stops.</param>
/// <param name="ResetInput">The machine's own reset button; null when the API resets it.</param>
/// <param name="TripDelay">How long an input must be open before it counts; zero for emergency stop and guards.</param>
/// <param name="StaleAfter">Age from which an input's last value counts as open.</param>
public sealed record InterlockDefinition(
    string Name,
    InterlockKind Kind,
    IReadOnlyList<InputReference> Inputs,
    TimeSpan? Discrepancy,
    int StopCategory,
    IReadOnlyList<int> Axes,
    InputReference? ResetInput,
    TimeSpan TripDelay,
    TimeSpan StaleAfter)
{
    /// <summary>Time after which the safety relay takes the drives' power by itself; null when it is not stated.</summary>
    public TimeSpan? OffDelay { get; init; }
}

/// <summary>Kind of an interlock.</summary>
public enum InterlockKind
{
    EmergencyStop = 0,
    Guard = 1,
    Process = 2,
}

/// <summary>Where a digital input is read. Closed (1) permits.</summary>
/// <param name="Text">As the file says it.</param>
/// <param name="Source">What kind of source.</param>
/// <param name="Axis">Index of the axis whose drive carries it; -1 for other sources.</param>
/// <param name="Bit">Feedback field and bit of a drive's input; null for other sources.</param>
/// <param name="Path">Path of a file source, absolute; null for other sources.</param>
public sealed record InputReference(string Text, InputSource Source, int Axis, BitReference? Bit, string? Path)
{
    /// <summary>The line of a GPIO source; null for other sources.</summary>
    public GpioReference? Gpio { get; init; }

    /// <summary>The bit of a module; null for other sources.</summary>
    public ModuleReference? Module { get; init; }
}

/// <summary>A line of a GPIO chip.</summary>
/// <param name="Chip">Label of the chip: numbers of chips change from start to start.</param>
/// <param name="Line">Offset in digits, or the line's name.</param>
public sealed record GpioReference(string Chip, string Line);

/// <summary>Kind of an input's source.</summary>
public enum InputSource
{
    Drive = 0,
    File = 1,
    Gpio = 2,
    Module = 3,
}
