using Supervisor.Bus;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.History.Clocks;
using Supervisor.Machine.Timeouts;
using Supervisor.Records.Stops;
using Supervisor.Runtime;

namespace Supervisor.Daemon.Memories;

/// <summary>Remembers of every axis the last proof of its communication time-out, and writes it down on a thread of its own: a slow disk must hold nobody up.</summary>
public sealed partial class TimeoutProofs
{
    private readonly MachineBoard _board;
    private readonly TimeoutProofFile _file;
    private readonly Func<ClockReading> _clocks;
    private readonly ILogger _logger;
    private readonly KeeperThread _thread;
    private readonly Lock _gate = new();
    private readonly KeptTimeoutProofs[] _kept;
    private readonly (MeasuredTimeout Measured, string Holder)[] _last;
    private int _version;
    private int _seen;

    internal TimeoutProofs(MachineBoard board, TimeoutProofFile file, Func<ClockReading> clocks, IMonotonicClock clock, ILogger logger)
    {
        _board = board;
        _file = file;
        _clocks = clocks;
        _logger = logger;
        _kept = file.Read(out var problem);
        Problem = problem;
        _last = new (MeasuredTimeout, string)[_kept.Length];
        _thread = new KeeperThread("time-out proofs", IsChanged, Write, exception => LogNotWritten(_file.Path, exception), clock);
    }

    /// <summary>What was wrong with the file; null when it was good.</summary>
    public string? Problem { get; }

    /// <summary>Starts the thread. Once.</summary>
    public void Start() => _thread.Start();

    /// <summary>Writes what is left and ends.</summary>
    /// <returns>False when it had not ended within <paramref name="patience"/>.</returns>
    public bool Stop(TimeSpan patience) => _thread.Stop(patience);

    /// <summary>A proof came to a verdict. Never waits for the disk.</summary>
    public void Note(in MeasuredTimeout measured, string holder)
    {
        var axis = _board.Machine.Axes[measured.Axis];
        var now = _clocks();
        var proof = new KeptTimeoutProof(
            now.Utc - (now.Monotonic - measured.SilentFrom), now.Quality == UtcQuality.Synchronised, measured.Verdict, measured.Timeout,
            TimeoutTexts.Word(axis.Drive.CommunicationTimeout?.Reaction ?? TimeoutReaction.QuickStopThenOff), SerialNumber(measured.Axis), measured.Velocity, measured.Distance);
        lock (_gate)
        {
            _last[measured.Axis] = (measured, holder);
            _kept[measured.Axis] = measured.Verdict == TimeoutVerdict.Passed
                ? new KeptTimeoutProofs(proof, null)
                : _kept[measured.Axis] with { Failed = proof };
            _version++;
        }
    }

    /// <summary>How an axis's time-out stands, and what is kept of it. Any thread.</summary>
    public (TimeoutStanding Standing, KeptTimeoutProofs Kept) Of(int axis)
    {
        var serial = SerialNumber(axis);
        lock (_gate)
        {
            return (TimeoutStandings.Of(_board.Machine.Axes[axis], _kept[axis], serial), _kept[axis]);
        }
    }

    /// <summary>What a command of this run measured; null when it came to no verdict. Any thread.</summary>
    public (MeasuredTimeout Measured, string Holder)? Of(int axis, ulong command)
    {
        lock (_gate)
        {
            return _last[axis].Measured is { Verdict: not TimeoutVerdict.None } measured && measured.CommandId == command ? _last[axis] : null;
        }
    }

    /// <inheritdoc cref="KeeperThread.Step"/>
    internal bool Step() => _thread.Step();

    private bool IsChanged()
    {
        lock (_gate)
        {
            var isChanged = _version != _seen;
            _seen = _version;
            return isChanged;
        }
    }

    private void Write()
    {
        KeptTimeoutProofs[] kept;
        lock (_gate)
        {
            kept = [.. _kept];
        }

        _file.Write(kept);
    }

    private uint? SerialNumber(int axis)
    {
        var parameters = _board.Machine.Axes[axis].Drive.Parameters;
        for (var i = 0; i < parameters.Count; i++)
        {
            if (parameters[i].Name == FieldNames.SerialNumber && _board.Parameters[axis].Known[i].Read() is { IsKnown: true } known)
            {
                return known.Raw;
            }
        }

        return null;
    }

    [LoggerMessage(1035, LogLevel.Error, "{Path} could not be written: proofs of communication time-outs since are not kept; tried again", EventName = "TimeoutProofsNotWritten")]
    private partial void LogNotWritten(string path, Exception exception);
}
