using System.Numerics;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Drives;

/// <summary>What the registers of one kind of drive mean: immutable, checked, every bit resolved.</summary>
/// <param name="Name">Name of the kind.</param>
/// <param name="Wire">How its registers are read and written.</param>
/// <param name="Coding">CiA 402 words, or bits named one by one.</param>
/// <param name="States">Bits that tell the state; null for CiA 402.</param>
/// <param name="Commands">Bits that command; null for CiA 402.</param>
/// <param name="Feedback">Fields read every cycle, in register order.</param>
/// <param name="Command">Fields written on change, in register order.</param>
/// <param name="Parameters">Fields read or written now and then.</param>
/// <param name="Inputs">Digital inputs by name.</param>
/// <param name="Outputs">Digital outputs by name: bits of a command field.</param>
/// <param name="CommunicationTimeout">What the drive does when nobody speaks to it; null when it does nothing.</param>
/// <param name="Refresh">Interval at which the command block is written though unchanged; zero: never.</param>
public sealed record DriveDefinition(
    string Name,
    WireDefinition Wire,
    StateCoding Coding,
    StateBits? States,
    CommandBits? Commands,
    IReadOnlyList<RegisterField> Feedback,
    IReadOnlyList<RegisterField> Command,
    IReadOnlyList<RegisterField> Parameters,
    IReadOnlyDictionary<string, BitReference> Inputs,
    IReadOnlyDictionary<string, BitReference> Outputs,
    CommunicationTimeoutDefinition? CommunicationTimeout,
    TimeSpan Refresh)
{
    /// <summary>The drive's own fault numbers; empty when the definition lists none.</summary>
    public IReadOnlyList<DriveFaultDefinition> Faults { get; init; } = [];

    /// <summary>What the definition says of one of the drive's fault numbers; null when it lists no such number.</summary>
    public DriveFaultDefinition? Fault(ushort driveCode)
    {
        for (var i = 0; i < Faults.Count; i++)
        {
            if (Faults[i].Code == driveCode)
            {
                return Faults[i];
            }
        }

        return null;
    }

    /// <summary>
    /// Names a fault the drive reports: by the definition's list, else by CiA 402. A drive with bits of its own that has a list numbers its faults
    /// itself: what the list leaves out is a <see cref="FaultCode.DriveFault"/>.
    /// </summary>
    public FaultCode FaultCodeOf(ushort driveCode) =>
        Fault(driveCode)?.Fault ?? (Coding == StateCoding.Cia402 || Faults.Count == 0 ? FaultCatalogue.FromCia402(driveCode) : FaultCode.DriveFault);

    /// <summary>How the drive tells that its encoder's battery no longer keeps the zero; null when it does not tell.</summary>
    public BatteryAlarmDefinition? BatteryAlarm { get; init; }

    /// <summary>What makes the drive keep its parameters over a loss of supply; null when nothing has to be told to it.</summary>
    public SaveParametersDefinition? SaveParameters { get; init; }

    /// <summary>Bits by which a drive without CiA 402 words acknowledges its command bits.</summary>
    public AcknowledgeBits Acknowledges { get; init; } = new(null, null, null);

    /// <summary>What a drive has to be told before it takes commands; null when it takes them at once.</summary>
    public UnlockDefinition? Unlock { get; init; }

    /// <summary>A bit of the command that, while 1, keeps the drive's brake closed though its torque is on; null when the drive has none.</summary>
    public BitReference? HoldBrake { get; init; }

    /// <summary>What its ramp times lead to; null when it takes ramps in counts/s² or none.</summary>
    public RampTimesDefinition? RampTimes { get; init; }

    /// <summary>What comes first to a drive with bits of its own that is met: its stop, or a look at it.</summary>
    public FirstStop FirstStop { get; init; }

    /// <summary>
    /// Shortest time from the loss of a drive's program, as by a dip of its supply, until it obeys a frame again; null: not known. Before it has passed a silent
    /// drive can't have started anew, after it a stop no longer carries the power bit.
    /// </summary>
    public TimeSpan? ShortestStart { get; init; }

    /// <summary>How the drive tells what it is beside its registers, and what it must tell; null: it is not asked.</summary>
    public IdentificationDefinition? Identification { get; init; }

    /// <summary>The feedback field of that name, or null when the drive has none.</summary>
    public RegisterField? FeedbackField(string name) => Find(Feedback, name);

    /// <summary>The command field of that name, or null when the drive has none.</summary>
    public RegisterField? CommandField(string name) => Find(Command, name);

    /// <summary>The parameter of that name, or null when the drive has none.</summary>
    public RegisterField? Parameter(string name) => Find(Parameters, name);

    private static RegisterField? Find(IReadOnlyList<RegisterField> fields, string name)
    {
        foreach (var field in fields)
        {
            if (field.Name == name)
            {
                return field;
            }
        }

        return null;
    }
}

/// <summary>A battery alarm of an absolute encoder: a bit of the feedback, or a number of the feedback field <c>errorCode</c>.</summary>
/// <param name="Bit">The bit that is 1 while the alarm stands; null when a number tells it.</param>
/// <param name="ErrorCode">The drive's own fault number, 0 when a bit tells it.</param>
public sealed record BatteryAlarmDefinition(BitReference? Bit, ushort ErrorCode);

/// <summary>A command that makes a drive keep its parameters over a loss of supply.</summary>
/// <param name="Field">The register it is written to; only ever written.</param>
/// <param name="Value">What is written, as the register holds it.</param>
/// <param name="Busy">How long the drive may be silent or busy afterwards.</param>
public sealed record SaveParametersDefinition(RegisterField Field, long Value, TimeSpan Busy);

/// <summary>Writes that make a drive take commands. A stop it takes before them.</summary>
/// <param name="Writes">In this order, at every meeting.</param>
/// <param name="Unlocked">Feedback bit that is 1 while it takes commands; null when it does not tell.</param>
public sealed record UnlockDefinition(IReadOnlyList<UnlockWrite> Writes, BitReference? Unlocked);

/// <summary>One write of an unlock sequence.</summary>
/// <param name="Field">The register; only ever written.</param>
/// <param name="Value">What is written, as the register holds it.</param>
public sealed record UnlockWrite(RegisterField Field, long Value);

/// <summary>The first frame to a drive with bits of its own after a start, a reopening or the drive's restart.</summary>
public enum FirstStop
{
    /// <summary>Its stop, with the power bit low: nothing is known of the drive, and one that moves loses its torque.</summary>
    Blind = 0,

    /// <summary>A read: a drive that moves under torque is then stopped with its torque kept; to any other no stop is written.</summary>
    AfterRead = 1,
}

/// <summary>How a drive tells its state.</summary>
public enum StateCoding
{
    Cia402 = 0,
    Bits = 1,
}

/// <summary>How registers travel.</summary>
/// <param name="ReadFunction">3 (holding) or 4 (input).</param>
/// <param name="MaximumRead">Registers of one read.</param>
/// <param name="WriteFunction">6 (one register) or 16.</param>
/// <param name="MaximumWrite">Registers of one write.</param>
/// <param name="HasReadWrite">True when function 23 is served.</param>
/// <param name="WordOrder">Order of the two words of a 32-bit value.</param>
/// <param name="FirstRegister">Number the drive's manual gives to wire address 0: a register's wire address is its number less this.</param>
/// <param name="Turnaround">Time the drive needs before it answers.</param>
/// <param name="BusyExceptions">Exception codes that mean: ask again.</param>
/// <param name="BroadcastStop">True when a stop may be sent to address 0.</param>
public sealed record WireDefinition(
    byte ReadFunction,
    int MaximumRead,
    byte WriteFunction,
    int MaximumWrite,
    bool HasReadWrite,
    WordOrder WordOrder,
    int FirstRegister,
    TimeSpan Turnaround,
    IReadOnlyList<byte> BusyExceptions,
    bool BroadcastStop)
{
    /// <summary>Order of the two bytes of a register; the standard's is high first.</summary>
    public ByteOrder ByteOrder { get; init; }

    /// <summary>Number the drive's manual gives to input register 0 where it counts them apart; null: as <see cref="FirstRegister"/>.</summary>
    public int? FirstInputRegister { get; init; }

    /// <summary>
    /// How a drive that is written one register at a time takes a 32-bit value: both words in this order, and the value as a whole no earlier than with
    /// the next write of its control register. Null: it does not, or does not say.
    /// </summary>
    public WordSplit? Split { get; init; }
}

/// <summary>Order of the two bytes of a register.</summary>
public enum ByteOrder
{
    HighFirst = 0,
    LowFirst = 1,
}

/// <summary>Order in which the two words of a 32-bit value are written one by one.</summary>
public enum WordSplit
{
    HighThenLow = 0,
    LowThenHigh = 1,
}

/// <summary>Which registers of a drive: Modbus addresses the two kinds apart.</summary>
public enum RegisterKind
{
    /// <summary>Read by function 3, written.</summary>
    Holding = 0,

    /// <summary>Read by function 4, never written.</summary>
    Input = 1,
}

/// <summary>Order of the two words of a 32-bit value.</summary>
public enum WordOrder
{
    HighFirst = 0,
    LowFirst = 1,
}

/// <summary>A value in registers.</summary>
/// <param name="Name">Name the program looks it up by.</param>
/// <param name="Register">Register number as the drive's manual counts.</param>
/// <param name="Type">Width and sign.</param>
/// <param name="Scale">Value = raw × scale.</param>
/// <param name="Unit">Unit of the scaled value; null when the name implies it.</param>
/// <param name="Access">Whether it may be written.</param>
public sealed record RegisterField(string Name, int Register, RegisterType Type, double Scale, string? Unit, RegisterAccess Access)
{
    /// <summary>A command field: what was written is read back before anything relies on it.</summary>
    public bool ReadBack { get; init; }

    /// <summary>A parameter that the drive keeps in a memory which every write wears: it is written on purpose or on a difference, never again and again.</summary>
    public bool Stored { get; init; }

    /// <summary>Holding or input register; null: as <see cref="WireDefinition.ReadFunction"/> says.</summary>
    public RegisterKind? Kind { get; init; }

    /// <summary>Bits that carry the value, one run of them, its lowest worth 1; 0: all bits.</summary>
    public uint Mask { get; init; }

    /// <summary>Raw bits by which the drive says that it does not know the value; empty: it always does.</summary>
    public IReadOnlyList<uint> Sentinels { get; init; } = [];

    /// <summary>Registers it takes.</summary>
    public int Width => Type is RegisterType.U32 or RegisterType.S32 ? 2 : 1;

    /// <summary>The value of raw bits.</summary>
    public double ValueOf(uint raw) => Scale * (IsSigned ? (long)((ulong)raw << (64 - Bits)) >> (64 - Bits) : raw);

    /// <summary>The raw bits of a value; false for one that its registers can't hold, or that lies between two of their steps.</summary>
    public bool TryRaw(double value, out uint raw)
    {
        var number = Math.Round(value / Scale);
        var (least, most) = Range;
        var fits = double.IsFinite(number) && number >= least && number <= most && Math.Abs((value / Scale) - number) <= StepTolerance * Math.Max(1, Math.Abs(number));
        raw = !fits ? 0 : Width == 2 ? (uint)(long)number : (ushort)(long)number;
        return fits;
    }

    // A decimal number and a binary step seldom divide without a rest.
    private const double StepTolerance = 1e-6;

    /// <summary>Bits of the value.</summary>
    public int Bits => Mask == 0 ? Width * 16 : BitOperations.PopCount(Mask);

    /// <summary>True for a value with a sign.</summary>
    public bool IsSigned => Type is RegisterType.S16 or RegisterType.S32;

    /// <summary>Numbers its bits can hold, before <see cref="Scale"/>.</summary>
    public (long Least, long Most) Range => IsSigned ? (-(1L << (Bits - 1)), (1L << (Bits - 1)) - 1) : (0, (1L << Bits) - 1);

    /// <summary>The function that reads it.</summary>
    public byte ReadFunction(WireDefinition wire)
    {
        ArgumentNullException.ThrowIfNull(wire);
        return Kind switch { RegisterKind.Holding => 3, RegisterKind.Input => 4, _ => wire.ReadFunction };
    }

    /// <summary>Its address on the wire.</summary>
    public int Address(WireDefinition wire) =>
        Register - (ReadFunction(wire) == 4 && wire.FirstInputRegister is { } first ? first : wire.FirstRegister);
}

/// <summary>Width and sign of a register value.</summary>
public enum RegisterType
{
    U16 = 0,
    S16 = 1,
    U32 = 2,
    S32 = 3,
}

/// <summary>Whether a register may be written.</summary>
public enum RegisterAccess
{
    ReadWrite = 0,
    Read = 1,
    Write = 2,
}

/// <summary>One bit of a field: <c>FIELD.BIT</c> in the file, <c> rising</c> behind it when its rising edge acts.</summary>
public readonly record struct BitReference(string Field, int Bit, bool Rising);

/// <summary>State bits of a drive without CiA 402 words; null where it has none.</summary>
public sealed record StateBits(BitReference? Powered, BitReference? InPosition, BitReference? Referenced, BitReference? Fault, BitReference? Moving);

/// <summary>Command bits of a drive without CiA 402 words; null where it has none.</summary>
public sealed record CommandBits(BitReference? Power, BitReference? Go, BitReference? Stop, BitReference? FindReference, BitReference? ClearFault);

/// <summary>
/// Feedback bits by which a drive acknowledges the rising edge of a command bit: 1 once it took the edge, 0 once it saw the command bit go. Null where it
/// does not acknowledge.
/// </summary>
public sealed record AcknowledgeBits(BitReference? Go, BitReference? FindReference, BitReference? ClearFault);

/// <summary>What the drive does by itself when nobody speaks to it.</summary>
/// <param name="FedBy">Which frames keep it quiet.</param>
/// <param name="Reaction">What it does when the time ran out.</param>
public sealed record CommunicationTimeoutDefinition(TimeoutFeed FedBy, TimeoutReaction Reaction)
{
    /// <summary>What its digital outputs do then.</summary>
    public OutputsAtTimeout Outputs { get; init; }
}

/// <summary>What a drive's digital outputs do when its communication time-out ran out.</summary>
public enum OutputsAtTimeout
{
    /// <summary>The definition does not say: nothing may rely on it.</summary>
    Unknown = 0,
    Hold = 1,
    Off = 2,
}

/// <summary>Which frames feed a drive's communication time-out.</summary>
public enum TimeoutFeed
{
    AnyFrame = 0,
    Read = 1,
    Write = 2,
}

/// <summary>What a drive does when its communication time-out ran out.</summary>
public enum TimeoutReaction
{
    QuickStopThenOff = 0,
    QuickStopThenHold = 1,
    TorqueOff = 2,
}
