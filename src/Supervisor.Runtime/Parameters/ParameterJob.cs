using Supervisor.Records.Commands;

namespace Supervisor.Runtime.Parameters;

/// <summary>What one parameter of a job came to.</summary>
public enum ParameterOutcome : byte
{
    /// <summary>Its turn has not come.</summary>
    Pending = 0,

    /// <summary>Read; nothing was to be written.</summary>
    Read = 1,

    /// <summary>The drive had the value already: nothing was written.</summary>
    AsWanted = 2,

    /// <summary>Written, and read back as written.</summary>
    Written = 3,

    /// <summary>Written and confirmed; the register can't be read back.</summary>
    WrittenUnread = 4,

    /// <summary>Written and confirmed, but another value was read back.</summary>
    NotTaken = 5,

    /// <summary>The drive answered with an exception: it has what it had.</summary>
    Rejected = 6,

    /// <summary>It was sent and the drive was lost: it may have arrived or not.</summary>
    Unknown = 7,
}

/// <summary>How far a job is.</summary>
public enum ParameterJobState : byte
{
    /// <summary>Waits for its axis.</summary>
    Posted = 0,

    /// <summary>Its axis works on it.</summary>
    Taken = 1,

    /// <summary>Every parameter has its outcome.</summary>
    Done = 2,

    /// <summary>The axis did not begin it; see <see cref="ParameterJob.Refusal"/>.</summary>
    Refused = 3,

    /// <summary>The drive was lost on the way: what is pending was not sent.</summary>
    Broken = 4,

    /// <summary>Whoever posted it took it back before its axis looked.</summary>
    Withdrawn = 5,
}

/// <summary>One parameter of a job.</summary>
/// <param name="Index">Index in the drive definition's parameters.</param>
/// <param name="Raw">Bits to write; without meaning in a job that reads.</param>
public readonly record struct ParameterEntry(short Index, uint Raw);

/// <summary>What one parameter of a job came to.</summary>
/// <param name="Outcome">How it ended.</param>
/// <param name="Before">Raw bits as first read; valid unless it is pending, rejected before a read or can't be read.</param>
/// <param name="After">Raw bits as last read.</param>
/// <param name="ExceptionCode">The drive's exception, 0 when there was none.</param>
public readonly record struct ParameterResult(ParameterOutcome Outcome, uint Before, uint After, byte ExceptionCode);

/// <summary>
/// Parameters of one drive to be read, or written and read back, one by one in the time its cycle leaves. Posted by a thread that may wait, worked
/// on by its port's stepper, which touches nothing but the results and the state; read from any thread.
/// </summary>
public sealed class ParameterJob
{
    private readonly ParameterResult[] _results;
    private int _completed;
    private int _state;

    /// <param name="entries">What to read or write, in this order.</param>
    /// <param name="writes">True to write.</param>
    public ParameterJob(IReadOnlyList<ParameterEntry> entries, bool writes)
    {
        ArgumentNullException.ThrowIfNull(entries);
        Entries = entries;
        Writes = writes;
        _results = new ParameterResult[entries.Count];
    }

    /// <summary>What to read or write.</summary>
    public IReadOnlyList<ParameterEntry> Entries { get; }

    /// <summary>True when it writes.</summary>
    public bool Writes { get; }

    /// <summary>Have the drive keep what was written, where its definition says how.</summary>
    public bool Saves { get; init; }

    /// <summary>Raw serial number of the drive that is meant: refused with any other. Null: whichever answers.</summary>
    public uint? ExpectedSerial { get; init; }

    /// <summary>True when, once it has ended, no set is in the drive only in part as far as the supervisor knows. Refused or withdrawn it says nothing.</summary>
    public bool LeavesSetWhole { get; internal set; }

    /// <summary>Parameters that have their outcome: the first so many.</summary>
    public int Completed => Volatile.Read(ref _completed);

    /// <summary>How far it is. Read it before the results.</summary>
    public ParameterJobState State => (ParameterJobState)Volatile.Read(ref _state);

    /// <summary>True once nothing of it changes any more.</summary>
    public bool HasEnded => State is not (ParameterJobState.Posted or ParameterJobState.Taken);

    /// <summary>Why it was refused.</summary>
    public Refusal Refusal { get; private set; }

    /// <summary>What became of saving; pending where nothing was to be saved.</summary>
    public ParameterOutcome Save { get; internal set; }

    /// <summary>What a parameter came to; pending beyond <see cref="Completed"/>.</summary>
    public ParameterResult Result(int entry) => entry < Completed ? _results[entry] : default;

    /// <summary>Takes it back; false when its axis has begun or ended it.</summary>
    public bool TryWithdraw() => Move(ParameterJobState.Posted, ParameterJobState.Withdrawn);

    internal bool TryTake() => Move(ParameterJobState.Posted, ParameterJobState.Taken);

    internal void Refuse(Refusal refusal)
    {
        Refusal = refusal;
        Move(ParameterJobState.Posted, ParameterJobState.Refused);
    }

    internal void Complete(in ParameterResult result)
    {
        _results[_completed] = result;
        Volatile.Write(ref _completed, _completed + 1);
    }

    internal void End(ParameterJobState state) => Volatile.Write(ref _state, (int)state);

    private bool Move(ParameterJobState from, ParameterJobState to) => Interlocked.CompareExchange(ref _state, (int)to, (int)from) == (int)from;
}
