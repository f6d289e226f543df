using Supervisor.Bus;
using Supervisor.History.Clocks;
using Supervisor.Runtime;

namespace Supervisor.Daemon.Memories;

/// <summary>Writes down when brakes were proven, and tells the coordinator what an earlier run knew: on a thread of its own, as a slow disk must hold nobody up.</summary>
internal sealed partial class BrakeProofKeeper
{
    private readonly MachineBoard _board;
    private readonly BrakeProofFile _file;
    private readonly Func<ClockReading> _clocks;
    private readonly string _bootId;
    private readonly ILogger _logger;
    private readonly KeeperThread _thread;
    private readonly KeptProof?[] _kept;
    private readonly int[] _seen;

    public BrakeProofKeeper(MachineBoard board, BrakeProofFile file, Func<ClockReading> clocks, string bootId, IMonotonicClock clock, ILogger logger)
    {
        _board = board;
        _file = file;
        _clocks = clocks;
        _bootId = bootId;
        _logger = logger;
        _kept = file.Read(out var problem);
        Problem = problem;
        _seen = new int[_kept.Length];
        TellMemories();
        _thread = new KeeperThread("brake proofs", IsChanged, () => _file.Write(_kept), exception => LogNotWritten(_file.Path, exception), clock);
    }

    /// <summary>What was wrong with the file; null when it was good.</summary>
    public string? Problem { get; }

    /// <summary>Starts the thread. Once.</summary>
    public void Start() => _thread.Start();

    /// <summary>Writes what is left and ends.</summary>
    /// <returns>False when it had not ended within <paramref name="patience"/>.</returns>
    public bool Stop(TimeSpan patience) => _thread.Stop(patience);

    /// <inheritdoc cref="KeeperThread.Step"/>
    public bool Step() => _thread.Step();

    /// <summary>Takes in what changed, and tells what the clocks meanwhile let it know.</summary>
    private bool IsChanged()
    {
        TellMemories();
        var now = _clocks();
        var isChanged = false;
        for (var axis = 0; axis < _kept.Length; axis++)
        {
            isChanged |= Take(axis, now);
        }

        return isChanged;
    }

    private bool Take(int axis, in ClockReading now)
    {
        var note = _board.Proofs[axis].Read();
        var isRight = now.Quality == UtcQuality.Synchronised;

        // What was written by a clock that was not right is written anew once it is.
        var isCorrected = isRight && _kept[axis] is { IsClockRight: false, PassedUtc: not null } kept && kept.BootId == _bootId;
        if (note.Version == _seen[axis] && !isCorrected)
        {
            return false;
        }

        // A time that is not known yet stays as the file has it.
        var isSame = _kept[axis] is { IsClockRight: true, PassedUtc: not null } before && before.BootId == _bootId && before.PassedAt == note.PassedAt;
        var proof = note.PassedKnown && !isSame
            ? new KeptProof(now.Utc - (now.Monotonic - note.PassedAt), isRight, _bootId, note.PassedAt, note.Movement, note.Failed)
            : _kept[axis] ?? new KeptProof(null, isRight, _bootId, TimeSpan.Zero, 0, false);
        _kept[axis] = note.Version == 0 ? proof : proof with { Failed = note.Failed, LoadHeld = note.LoadHeld };
        _seen[axis] = note.Version;
        return true;
    }

    /// <summary>A board without a battery clock knows only later how long ago an earlier boot was.</summary>
    private void TellMemories()
    {
        var now = _clocks();
        for (var axis = 0; axis < _kept.Length; axis++)
        {
            var told = _board.ProofMemories[axis].Read();
            if (_kept[axis] is { } kept && (told.Version == 0 || !told.PassedKnown) && kept.At(now, _bootId, told.Version + 1) is var note
                && (told.Version == 0 || note.PassedKnown))
            {
                _board.ProofMemories[axis].Write(note);
            }
        }
    }

    [LoggerMessage(1031, LogLevel.Error, "{Path} could not be written: proofs of brakes since are not kept; tried again", EventName = "BrakeProofsNotWritten")]
    private partial void LogNotWritten(string path, Exception exception);
}
