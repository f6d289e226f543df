using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Outputs;

namespace Supervisor.Runtime.Modules;

/// <summary>
/// One module on its line. A reading of its inputs every so many cycles, with at most one other request behind it; what is ordered of its
/// outputs in between. No output is set before the module's communication time-out is set and read back and its outputs were read.
/// </summary>
internal sealed partial class ModuleStation
{
    private static readonly TimeSpan SlowestPoll = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan CheckInterval = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan RetryInterval = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan FirstMeeting = TimeSpan.FromSeconds(2);
    private const int MostWritesPerCycle = 2;
    private const int RetriesOfOutputs = 1;
    private const int FailuresForFault = 3;
    private const int FeedsPerTimeout = 4;
    private const int LongestBackOff = 6;

    private readonly MachineBoard _board;
    private readonly int _index;
    private readonly ModuleDefinition _module;
    private readonly PortDefinition _port;
    private readonly PortChannel _channel;
    private readonly ModuleInputWatch? _inputs;
    private readonly ModuleOutputRun? _outputs;
    private readonly ModuleTimeoutRun? _timeout;
    private readonly IdentityCheck? _identity;
    private readonly TimeSpan _lossAfter;
    private ModuleSnapshot _snapshot;
    private ModuleStage _stage;
    private TimeSpan? _since;
    private TimeSpan _polledAt = TimeSpan.MinValue;
    private TimeSpan _askAgainAt;
    private TimeSpan _checkedAt;
    private TimeSpan _wroteAt;
    private TimeSpan _writeAt;
    private TimeSpan _retryTimeoutAt;
    private bool _isPolled;
    private bool _isTimeNext;
    private bool _isLossTold;
    private int _attempts;
    private int _unanswered;
    private int _writes;
    private int _refusals;

    /// <param name="board">What all threads share.</param>
    /// <param name="index">Index of the module in the machine file.</param>
    /// <param name="outputs">The outputs of it that the machine uses, each with its bit.</param>
    public ModuleStation(MachineBoard board, int index, IReadOnlyList<(OutputCell Cell, int Bit)> outputs)
    {
        (_board, _index) = (board, index);
        _module = board.Machine.Modules[index];
        _port = board.Machine.Ports[_module.Port];
        _channel = board.Ports[_module.Port];
        _inputs = _module.Inputs is { } has ? new ModuleInputWatch(board, index, has) : null;
        _outputs = _module.Outputs is { } sets ? new ModuleOutputRun(sets, _module.Address, outputs) : null;
        _timeout = _module.CommunicationTimeout is { } timeout ? new ModuleTimeoutRun(timeout, _module.Address) : null;
        _identity = _module.Identification is { } identification ? new IdentityCheck(identification) : null;
        _lossAfter = _module.CommunicationTimeout is { } limit && limit.Timeout < _module.StaleAfter ? limit.Timeout : _module.StaleAfter;
    }

    private enum ModuleStage : byte
    {
        Unmet,

        /// <summary>Its communication time-out is read and set.</summary>
        SettingTimeout,

        /// <summary>Its communication time-out can't be set: none of its outputs is.</summary>
        Barred,

        /// <summary>Its outputs are read.</summary>
        ReadingOutputs,
        Ready,
    }

    /// <summary>A request of this cycle is due.</summary>
    public bool IsDue { get; private set; }

    /// <summary>It did not answer the last time: it costs a time-out to ask, so others go first.</summary>
    public bool IsMissing => _unanswered > 0;

    /// <summary>It is met and answers.</summary>
    public bool IsOnline => _snapshot.Online;

    /// <summary>When it was asked last: who waited longest is next.</summary>
    public TimeSpan AskedAt { get; private set; } = TimeSpan.MinValue;

    /// <summary>How long its reply may take.</summary>
    public TimeSpan ReplyTimeout => _port.ResponseTimeout + _module.Turnaround;

    /// <summary>Faults that were not told because nobody took them.</summary>
    public long FaultsLost { get; private set; }

    /// <summary>The transaction has ended.</summary>
    /// <param name="request">What it was for.</param>
    /// <param name="transaction">Its end.</param>
    /// <param name="retries">Repeats that are allowed.</param>
    /// <param name="now">Monotonic time.</param>
    public void Completed(ModuleRequest request, Transaction transaction, int retries, TimeSpan now)
    {
        AskedAt = now;
        _writes += request == ModuleRequest.Output ? 1 : 0;
        var isBusy = transaction.Result == TransactionResult.ExceptionReply && transaction.ExceptionCode is ExceptionCode.Acknowledge or ExceptionCode.DeviceBusy;
        if (transaction.Result == TransactionResult.Reply)
        {
            Answered(request, transaction, now);
        }
        else if (transaction.Result == TransactionResult.ExceptionReply && !isBusy)
        {
            Refused(request, transaction, now);
        }
        else
        {
            Missed(request, retries, now);
        }
    }

    private void Answered(ModuleRequest request, Transaction transaction, TimeSpan now)
    {
        _unanswered = 0;
        _attempts = 0;
        if (request == ModuleRequest.Identity && !TakeIdentity(transaction, now))
        {
            return;
        }

        _isLossTold = false;
        if (!_snapshot.Online)
        {
            _snapshot.Online = true;
            BeginMeeting(now);
        }

        switch (request)
        {
            case ModuleRequest.Inputs:
                _refusals = 0;
                _inputs!.Take(transaction, openingsOnly: _isDistrusted, now);
                break;
            case ModuleRequest.Timeout:
                TakeTimeout(transaction, now);
                break;
            case ModuleRequest.Time:
                TakeTime(transaction, now);
                break;
            case ModuleRequest.ReadBack or ModuleRequest.Confirm:
                TakeOutputs(transaction, now);
                break;
            case ModuleRequest.Output:
                _wroteAt = now;
                _outputs!.Written(now);
                break;
            case ModuleRequest.Feed:
                _wroteAt = now;
                break;
        }

        if (request != ModuleRequest.Identity)
        {
            EndTurn(request, now);
        }

        _snapshot.AnsweredAt = now;
        Publish();
    }

    private void Missed(ModuleRequest request, int retries, TimeSpan now)
    {
        if (request == ModuleRequest.Output && _outputs!.CanReadBack)
        {
            // It may have been taken: that is asked, not written again.
            _outputs.Written(now);
        }

        var isOutput = request is ModuleRequest.Output or ModuleRequest.Confirm;
        if (++_attempts <= (isOutput ? Math.Min(retries, RetriesOfOutputs) : retries))
        {
            return;
        }

        if (isOutput)
        {
            // Whether it is still there is asked with the next cycle, whenever its inputs would be due: what is ordered waits for that.
            _polledAt = TimeSpan.MinValue;
        }

        IsDue = false;
        _unanswered++;
        var pause = _port.Cycle * (1 << Math.Min(_unanswered - 1, LongestBackOff));
        _askAgainAt = now + (pause < SlowestPoll ? pause : SlowestPoll);
    }

    private void Refused(ModuleRequest request, Transaction transaction, TimeSpan now)
    {
        _unanswered = 0;
        EndTurn(request, now);
        if (request == ModuleRequest.Timeout)
        {
            TakeTimeout(transaction, now);
        }
        else if (request == ModuleRequest.Output)
        {
            _outputs!.Refused();
            JudgeFailures(now);
        }
        else if (++_refusals == FailuresForFault)
        {
            var isIdentity = request == ModuleRequest.Identity;
            if (isIdentity)
            {
                _identity!.TakeException();
            }

            Tell(FaultCode.ModuleRefuses, now, transaction.ExceptionCode, isIdentity ? _identity!.Difference : default);
        }

        Publish();
    }
}
