using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.History.Entries;

/// <summary>
/// Something worth remembering. Axes, ports and interlocks are kept by name, because the machine file may be another one when
/// the record is read. Texts are cut at <see cref="MaximumTextLength"/> characters.
/// </summary>
/// <param name="At">Monotonic time since boot at which it happened, not at which it was written.</param>
public abstract record HistoryRecord(TimeSpan At)
{
    /// <summary>Longest text kept, characters.</summary>
    public const int MaximumTextLength = 1_000;

    /// <summary>What the record tells.</summary>
    public abstract RecordKind Kind { get; }

    /// <summary>
    /// True for what comes often and explains rather than alarms: written together with others after a while, so that a power cut may take the last
    /// of it. Everything else is on the disk at once.
    /// </summary>
    public virtual bool IsBulk => false;
}

/// <summary>The supervisor started.</summary>
/// <param name="At">Monotonic time.</param>
/// <param name="Version">Version of the supervisor.</param>
/// <param name="Machine">Name of the machine.</param>
/// <param name="FileHash">Hash of the machine file, as the caller computes it.</param>
/// <param name="PreviousEnd">How the run before ended; filled in by the store.</param>
public sealed record StartRecord(TimeSpan At, string Version, string Machine, string FileHash, PreviousEnd PreviousEnd = PreviousEnd.Unknown)
    : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Start;

    /// <summary>Hash of the machine file at the start before; filled in by the store, empty where there was none.</summary>
    public string PreviousFileHash { get; init; } = "";
}

/// <summary>How the run before a start ended.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum PreviousEnd : byte
{
    /// <summary>First start with this file.</summary>
    Unknown = 0,

    /// <summary>It wrote its end.</summary>
    InOrder = 1,

    /// <summary>It did not: power was lost, the process was killed or it broke.</summary>
    NotInOrder = 2,
}

/// <summary>The supervisor ended in order.</summary>
public sealed record EndRecord(TimeSpan At, string Reason) : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.End;
}

/// <summary>A fault was latched.</summary>
/// <param name="At">Monotonic time at which it was seen.</param>
/// <param name="Axis">Name of the axis; null when it concerns a port or an interlock.</param>
/// <param name="Port">Name of the port; null when none.</param>
/// <param name="Interlock">Name of the interlock; null when none.</param>
/// <param name="Code">What went wrong.</param>
/// <param name="Class">Class of the code in the version that recorded it.</param>
/// <param name="DriveCode">The drive's own number, 0 when it gave none.</param>
/// <param name="State">State of the axis before the fault.</param>
/// <param name="CommandId">Command in hand, 0 when none.</param>
/// <param name="Position">Actual position in the axis's unit; NaN when not known.</param>
public sealed record FaultRecord(
    TimeSpan At, string? Axis, string? Port, string? Interlock, FaultCode Code, FaultClass Class, ushort DriveCode, AxisState State, ulong CommandId, double Position)
    : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Fault;

    /// <summary>What it is about beyond its code, such as a parameter with both values; may be empty.</summary>
    public string Note { get; init; } = "";

    /// <summary>Name of the interlock whose hardware stop it follows from: power was taken, and it leads nothing; empty: it stands for itself.</summary>
    public string ConsequenceOf { get; init; } = "";

    /// <summary>The record of a fault as a port reported it.</summary>
    public static FaultRecord From(in FaultEvent fault, string? axis, string? port, string? interlock = null, string note = "", string consequenceOf = "") => new(
        fault.At, axis, port, interlock, fault.Code, FaultCatalogue.ClassOf(fault.Code), fault.DriveCode, fault.State, fault.CommandId, fault.Position) { Note = note, ConsequenceOf = consequenceOf };
}

/// <summary>An interlock changed.</summary>
/// <param name="At">Monotonic time.</param>
/// <param name="Interlock">Its name.</param>
/// <param name="Change">What happened to it.</param>
/// <param name="Inputs">Texts of the inputs concerned, as the machine file names them.</param>
public sealed record InterlockRecord(TimeSpan At, string Interlock, InterlockChange Change, IReadOnlyList<string> Inputs) : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Interlock;

    /// <inheritdoc/>
    public override bool IsBulk => true;
}

/// <summary>What happened to an interlock.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum InterlockChange : byte
{
    None = 0,

    /// <summary>An input opened or went silent.</summary>
    Opened = 1,

    /// <summary>It stops its axes, after its trip delay if it has one.</summary>
    Tripped = 2,

    /// <summary>Every input is closed again.</summary>
    Closed = 3,

    /// <summary>A person reset it.</summary>
    Reset = 4,

    /// <summary>Its channels differed for too long; a fault is recorded beside it.</summary>
    Discrepancy = 5,
}

/// <summary>An axis was brought back without a person, or could not be.</summary>
/// <param name="At">Monotonic time.</param>
/// <param name="Axis">Name of the axis.</param>
/// <param name="Code">The fault it came from.</param>
/// <param name="Step">How far it came.</param>
/// <param name="Attempt">Number of this attempt, from 1; 0 before the first.</param>
/// <param name="Attempts">Attempts the machine file allows.</param>
/// <param name="Detail">What was done or found; may be empty.</param>
public sealed record RecoveryRecord(TimeSpan At, string Axis, FaultCode Code, RecoveryStep Step, int Attempt, int Attempts, string Detail = "") : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Recovery;

    /// <summary>What was done at the attempt, as the machine file says it, such as <c>resetAndHome</c>; empty in records of earlier versions.</summary>
    public string Action { get; init; } = "";
}

/// <summary>How far a recovery came.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum RecoveryStep : byte
{
    None = 0,
    Begun = 1,
    Succeeded = 2,
    Failed = 3,

    /// <summary>The attempts the machine file allows are used up, or it can't be done any more.</summary>
    GivenUp = 4,

    /// <summary>A person, a stop, an interlock or another fault took precedence.</summary>
    Cancelled = 5,

    /// <summary>Something stood in its way from the start.</summary>
    NotBegun = 6,
}

/// <summary>A port or a drive was lost or came back.</summary>
/// <param name="At">Monotonic time.</param>
/// <param name="Port">Name of the port.</param>
/// <param name="Axis">Name of the axis; null when the whole port is meant.</param>
/// <param name="Restored">True when it came back.</param>
/// <param name="Detail">What the system said, such as the name of an error; may be empty.</param>
public sealed record LinkRecord(TimeSpan At, string Port, string? Axis, bool Restored, string Detail) : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Link;

    /// <inheritdoc/>
    public override bool IsBulk => true;
}

/// <summary>A command worth keeping.</summary>
/// <param name="At">Monotonic time at which it ended.</param>
/// <param name="CommandId">Its id, 0 when it was refused before it got one.</param>
/// <param name="Command">What was asked, such as <c>move dibber 30 mm</c>.</param>
/// <param name="Holder">Who asked; empty when not known.</param>
/// <param name="Axis">Name of the axis that decided; null when none.</param>
/// <param name="Outcome">How it ended.</param>
/// <param name="Refusal">Why it was refused or replaced.</param>
/// <param name="Fault">Why it failed.</param>
/// <param name="Message">The sentence its sender got.</param>
public sealed record CommandRecord(
    TimeSpan At, ulong CommandId, string Command, string Holder, string? Axis, Outcome Outcome, Refusal Refusal, FaultCode Fault, string Message)
    : HistoryRecord(At)
{
    /// <summary>Names of the axes it was meant for; empty in records of earlier versions, and where it is for none.</summary>
    public IReadOnlyList<string> Axes { get; init; } = [];

    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Command;

    /// <inheritdoc/>
    public override bool IsBulk => true;
}

/// <summary>The history speaks of itself.</summary>
/// <param name="At">Monotonic time.</param>
/// <param name="Notice">What about.</param>
/// <param name="Count">Records concerned; 0 when none are.</param>
/// <param name="Message">A sentence for a person.</param>
public sealed record NoticeRecord(TimeSpan At, NoticeKind Notice, long Count, string Message) : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Notice;
}

/// <summary>What a <see cref="NoticeRecord"/> is about.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum NoticeKind : byte
{
    None = 0,

    /// <summary>Records came faster than they could be kept and are lost.</summary>
    RecordsLost = 1,

    /// <summary>A damaged file was set aside and a new one begun.</summary>
    FileSetAside = 2,

    /// <summary>The disk did not take records for a while and does again.</summary>
    DiskBack = 3,

    /// <summary>A run before broke by an error of its own, and left these last words.</summary>
    RunBroke = 4,

    /// <summary>Faults of a port's axes were not told, since nobody took them in time.</summary>
    FaultsNotTold = 5,

    /// <summary>The bytes a day of some kinds of records are used up: repeats are collapsed for a while.</summary>
    Sparing = 6,

    /// <summary>The supervisor ended while a motor alone held its load.</summary>
    LoadLeftHeld = 7,

    /// <summary>Messages to a person do not get through.</summary>
    MessagesHeldUp = 8,

    /// <summary>Messages to a person get through again.</summary>
    MessagesThrough = 9,

    /// <summary>A message to a person was refused for good, or its channel is gone.</summary>
    MessageGivenUp = 10,
}

/// <summary>An axis was stopped, as measured from the moment its stepper saw the trip.</summary>
/// <param name="At">Monotonic time of the trip.</param>
/// <param name="Axis">Name of the axis.</param>
/// <param name="Unit">Its unit.</param>
/// <param name="Cause">What stopped it, for a person.</param>
/// <param name="Category">Stop category of IEC 60204-1, 9.2.2.</param>
/// <param name="Velocity">Velocity at the trip, unit/s.</param>
/// <param name="Distance">Farthest from where it was, unit.</param>
/// <param name="RestAfter">Time to rest; null when it was not seen.</param>
/// <param name="OffAfter">Time to torque off; null when it was not seen or torque stays.</param>
public sealed record StopRecord(
    TimeSpan At, string Axis, string Unit, string Cause, int Category, double Velocity, double Distance, TimeSpan? RestAfter, TimeSpan? OffAfter)
    : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Stop;
}

/// <summary>A record of a kind this version does not know, left by a newer one.</summary>
/// <param name="At">Monotonic time.</param>
/// <param name="KindNumber">Its kind's number.</param>
/// <param name="Axis">Name of the axis, if it has one.</param>
/// <param name="Detail">Its details as stored (JSON).</param>
public sealed record UnknownRecord(TimeSpan At, int KindNumber, string? Axis, string Detail) : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => (RecordKind)KindNumber;
}
