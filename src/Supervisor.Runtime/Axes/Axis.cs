using Supervisor.Configuration.Machines;
using Supervisor.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Drives.Exchange;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Parameters;
using Supervisor.Runtime.Stops;

namespace Supervisor.Runtime.Axes;

/// <summary>One axis in its port: the node of the table, the command in hand, the image of its drive. Touched by its port's stepper alone.</summary>
public sealed partial class Axis
{
    private readonly MachineBoard _board;
    private readonly PortChannel _channel;
    private readonly AxisScale _scale;
    private readonly double _restVelocity;
    private readonly ulong _mask0;
    private readonly ulong _mask1;
    private readonly ulong _mask2;

    private AxisNode _node = AxisNode.Connecting;
    private GoalProgress _progress;
    private TimeSpan _deadline = TimeSpan.MaxValue;
    private AxisCommand _inHand;
    private AxisCommand _given;
    private FaultCode _fault;
    private FaultCode _seen;
    private ushort _driveCode;
    private ulong _causes;
    private int _stopEpoch;
    private bool _referenced;

    internal Axis(MachineBoard board, int index, DriveCoding coding)
    {
        _board = board;
        Index = (short)index;
        Definition = board.Machine.Axes[index];
        _channel = board.Ports[Definition.Port];
        _scale = new AxisScale(Definition);
        Coding = coding;
        _limitBack = Definition.Drive.CommandField("torqueLimit") is { ReadBack: true } limit ? new Parameter(coding.Plan, limit, null) : null;
        Image = new CommandImage(coding.Plan, coding.ControlOffset);
        _registers = new ushort[coding.Plan.FeedbackRegisters];
        _mask0 = board.Causes.Mask(index, 0);
        _mask1 = board.Causes.Mask(index, 1);
        _mask2 = board.Causes.Mask(index, 2);
        _stopEpoch = board.Latch.StopEpoch(index);
        _cutEpoch = board.Latch.CutEpoch(index);
        _parameters = board.Parameters[index];
        _run = new ParameterRun(coding.Plan);
        _jog = board.Jogs[index];
        _reactionSeconds = ReactionSeconds(board, index);
        _outputs = OutputsOf(board, index, coding.Plan, out _outputFields);
        _enablingCell = Definition.EnablingInput is { } enabling ? board.Inputs.IndexOf(enabling) : -1;

        _restVelocity = Definition.Limits.RestVelocity;
        Remember(board.Remembered[index]);
        RememberUnfinished(board.UnfinishedSets[index]);
        _tripsBeforeStart = board.Latch.Standing();
        if (board.HeldLoads[index])
        {
            RememberHeldLoad();
        }
    }

    /// <summary>Index in the machine file.</summary>
    public short Index { get; }

    /// <summary>The machine file's entry.</summary>
    public AxisDefinition Definition { get; }

    /// <summary>Where it stands in the table.</summary>
    public AxisNode Node => _node;

    /// <summary>Coding of its drive.</summary>
    public DriveCoding Coding { get; }

    /// <summary>The command registers of its drive.</summary>
    public CommandImage Image { get; }

    /// <summary>First contact was made and the drive answers.</summary>
    public bool Online { get; private set; }

    /// <summary>Id of the command in hand; 0 when there is none.</summary>
    public ulong CommandId => _inHand.Id;

    /// <summary>Latched fault, <see cref="FaultCode.None"/> when none.</summary>
    public FaultCode Fault => _fault;

    /// <summary>Time of the one deadline that runs; <see cref="TimeSpan.MaxValue"/> when none does.</summary>
    public TimeSpan Deadline => _deadline;

    /// <summary>What the drive is being brought to.</summary>
    public DriveGoal Goal => _progress.Goal;

    /// <summary>Called after every row of the table that was taken, by the thread that steps the axis: for checks and counts of what was visited.</summary>
    public Action<Axis, AxisRow>? RowTaken { get; set; }

    private bool CountsAsReferenced => !_isPlaceUnknown && (_referenced || Definition.Reference == ReferenceKind.None);

    /// <summary>Puts a fault on the axis: from anywhere in the table.</summary>
    public void SeeFault(FaultCode code, ushort driveCode, TimeSpan now)
    {
        if (_fault == FaultCode.None || _node == AxisNode.FaultClearing)
        {
            _seen = code;
            _driveCode = driveCode;
            if (!_isProvoked)
            {
                MeasureStop(1, 0, now, code);
            }

            Raise(AxisEvent.FaultSeen, now);
        }
        else if (IsGraver(code))
        {
            _seen = code;
            _driveCode = driveCode;
            ReportFault(_node, latch: false, now);
        }
    }

    /// <summary>
    /// A fault that must never be recovered from by itself takes the place of one that may be, and a load that moves though it should stand
    /// takes any place; else the first one stays.
    /// </summary>
    private bool IsGraver(FaultCode code) => !FaultCatalogue.MayRecover(code)
        && (FaultCatalogue.MayRecover(_fault) || FaultCatalogue.Entry(code).Priority > FaultCatalogue.Entry(_fault).Priority);

    /// <summary>Takes the causes that stand and those that tripped since the last look; acts on the gravest new one.</summary>
    public void TakeCauses(ulong standing, ulong tripped, TimeSpan now)
    {
        _causes = standing & (_mask0 | _mask1 | _mask2);
        TakeCut(now);
        tripped = SparesHeldLoad(tripped);
        if ((tripped & _mask0) != 0)
        {
            MeasureStop(0, tripped & _mask0, now);
            Raise(AxisEvent.Category0, now);
        }
        else if ((tripped & _mask1) != 0)
        {
            MeasureStop(1, tripped & _mask1, now);
            Raise(AxisEvent.Category1, now);
        }
        else if ((tripped & _mask2) != 0)
        {
            MeasureStop(2, tripped & _mask2, now);
            Raise(AxisEvent.Category2, now);
        }

        var epoch = _board.Latch.StopEpoch(Index);
        if (epoch != _stopEpoch)
        {
            _stopEpoch = epoch;
            MeasureStop(2, 0, now);
            Raise(AxisEvent.StopRequested, now);
        }

        Publish();
    }

    /// <summary>Lets the deadline of the node pass when its time has come.</summary>
    public void PassDeadline(TimeSpan now)
    {
        // Without feedback nothing can be told in time or late: the meeting sets the deadline anew.
        if (now >= _deadline && Online && !AwaitsBrake(now) && !AwaitsLoad(now) && !AwaitsTimeoutLook && !AllowForPause(now))
        {
            if (IsTimeoutUnderTest)
            {
                EndOverdueTimeoutProof(now);
                Publish();
                return;
            }

            _deadline = TimeSpan.MaxValue;
            if (_node == AxisNode.ProvingBrake && HasLoad)
            {
                FailProof(now);
            }
            else
            {
                _seen = FaultOfDeadline(_node);
                Raise(AxisEvent.DeadlinePassed, now);
            }

            Publish();
        }
    }

    /// <summary>What it is when the deadline of a node passes.</summary>
    internal static FaultCode FaultOfDeadline(AxisNode node) => node switch
    {
        AxisNode.Energising or AxisNode.HomeEnergising => FaultCode.EnergisingTimeout,
        AxisNode.Searching => FaultCode.HomingTimeout,
        AxisNode.Running => FaultCode.MoveTimeout,
        AxisNode.ProvingBrake => FaultCode.BrakeProofFailed,

        // A press that lapses is no fault.
        AxisNode.Jogging => FaultCode.None,
        _ => FaultCode.StopFailed,
    };

    private void Raise(AxisEvent on, TimeSpan now)
    {
        var row = AxisTable.Row(_node, on);
        var before = _node;
        EndSilence();
        _node = row.To;
        if (row.To != before)
        {
            OperateBrake(now);
        }

        if (row.To != before && row.To is AxisNode.Running or AxisNode.Jogging or AxisNode.Searching)
        {
            // A halt that was replaced by motion is no stop to measure, and its time is not that of the next one.
            _stopMeter.Discard();
        }

        if (row.To == AxisNode.Halting)
        {
            // Whoever stops it does not want the rest of the way: a distance counts from where the axis is, even before it stands.
            _hasTarget = false;
        }

        Apply(row, on, before, now);
        if (row.Goal != DriveGoal.None)
        {
            Begin(_node == AxisNode.Searching && before != AxisNode.Searching ? BeginSearch(now) : row.Goal, on is AxisEvent.MoveGiven or AxisEvent.JogGiven, now);
        }

        if (row.Deadline != AxisDeadline.Keep)
        {
            _deadline = Later(now, row.Deadline == AxisDeadline.None ? TimeSpan.MaxValue : TimeOf(row.Deadline));
        }

        RowTaken?.Invoke(this, row);
    }

    private static TimeSpan Later(TimeSpan now, TimeSpan time) => time >= TimeSpan.MaxValue - now ? TimeSpan.MaxValue : now + time;

    private void Apply(in AxisRow row, AxisEvent on, AxisNode before, TimeSpan now)
    {
        var effects = row.Effects;
        if ((effects & AxisEffects.Replace) != 0)
        {
            End(Outcome.Replaced, ReasonOf(on), FaultCode.None, 0, now);
        }

        if ((effects & AxisEffects.Take) != 0)
        {
            _inHand = _given;
            if (_inHand.Id != _waitedId)
            {
                Report(new AxisReport(_inHand.Id, Index, Outcome.None, Refusal.None, FaultCode.None, 0, now));
            }

            // A drive that started anew within a silence of one question looks as it did before, and has lost its zero: it is asked before it
            // gets torque.
            _doubtsRestart |= row.To == AxisNode.Energising;
        }

        if ((effects & AxisEffects.LoseReference) != 0 && Definition.Reference != ReferenceKind.None)
        {
            _referenced = false;
        }

        if ((effects & AxisEffects.GainReference) != 0)
        {
            _referenced = true;
            _wayKnown = false;
            _counter.Forget();
            TakePosition(now);
        }

        if ((effects & AxisEffects.Stay) != 0)
        {
            _stayCounts = Counts;

            // Only a target that was reached is one to go on from.
            _hasTarget &= on == AxisEvent.Arrived && _inHand.Kind != AxisCommandKind.Contact;
        }

        if ((effects & AxisEffects.Done) != 0)
        {
            End(Outcome.Done, Refusal.None, FaultCode.None, _inHand.Kind == AxisCommandKind.ProveBrake ? _proofMovement : _contactPosition, now);
        }

        if ((effects & AxisEffects.Fail) != 0)
        {
            End(Outcome.Failed, before == AxisNode.FaultClearing ? Refusal.CauseStillPresent : Refusal.None,
                before == AxisNode.FaultClearing ? _fault : before == AxisNode.FaultPoweringOff ? _seen : _contactFault, Position, now);
        }

        if ((effects & (AxisEffects.Latch | AxisEffects.Report)) != 0)
        {
            ReportFault(before, (effects & AxisEffects.Latch) != 0, now);
        }

        if ((effects & AxisEffects.Unlatch) != 0)
        {
            _fault = FaultCode.None;
            _isFaultProvoked = false;
            _driveCode = 0;
            _isStranger = false;
            _faultZone = 0;
        }
    }

    private void ReportFault(AxisNode before, bool latch, TimeSpan now)
    {
        if (_seen == FaultCode.None)
        {
            _seen = before == AxisNode.Searching ? FaultCode.HomingFailed : FaultCode.DriveFault;
        }

        if (!_isProvoked)
        {
            Tell(
                new FaultEvent(now, Index, (short)Definition.Port, _seen, _driveCode, before.State(), _inHand.Id, _isPlaceUnknown ? double.NaN : Position)
                {
                    Parameter = _seenParameter,
                    Identity = _seenIdentity,
                    Zone = (short)(_seen is FaultCode.ZoneEntered or FaultCode.ZoneUnproven ? _faultZone - 1 : -1),
                },
                latched: latch || IsGraver(_seen));
        }

        if (latch)
        {
            _fault = _seen;
            _isFaultProvoked = _isProvoked;
            EscalateFailedStop(_seen);
            End(Outcome.Failed, Refusal.None, _fault, 0, now);
            if (Definition.Group is { } group && !_isProvoked)
            {
                // The rest of the group stops with it, on whatever port.
                _board.Latch.Trip(_board.Causes.Group(group));
            }
        }
        else if (IsGraver(_seen))
        {
            EscalateFailedStop(_seen);
            _fault = _seen;
            _isFaultProvoked = false;
        }

        _seen = FaultCode.None;
    }

    private void Begin(DriveGoal goal, bool anew, TimeSpan now)
    {
        if (goal == _progress.Goal && !anew)
        {
            return;
        }

        _progress = new GoalProgress { Goal = goal, Since = now };
        _still = 0;
        BeginStop(goal);
        PutStopRamp(goal);
        PutTorqueLimit();

        // What needs no fresh feedback is put into the image now: a stop frame can go out next.
        Coding.Pursue(ref _progress, _feedback, fresh: false, now, Image);
    }

    private void End(Outcome outcome, Refusal refusal, FaultCode fault, double value, TimeSpan now)
    {
        if (_inHand.Id != 0)
        {
            Report(new AxisReport(_inHand.Id, Index, outcome, refusal, fault, value, now));
            _inHand = default;
        }

        if (outcome != Outcome.Done)
        {
            EndWaiting(outcome, refusal, fault, now);
        }
    }

    private static Refusal ReasonOf(AxisEvent on) => on switch
    {
        AxisEvent.StopRequested => Refusal.Stopped,
        AxisEvent.Category0 or AxisEvent.Category1 or AxisEvent.Category2 => Refusal.InterlockTripped,
        AxisEvent.DeadlinePassed => Refusal.JogLapsed,
        AxisEvent.EnablingOpened => Refusal.EnablingInputOpen,
        _ => Refusal.ReplacedByCommand,
    };

    private void Publish()
    {
        NoteReference();
        var state = _node.State();
        var detail = _node.Detail();
        var locked = _board.Latch.IsLocked(Index);
        if (_tellsHeldLoad)
        {
            detail = AxisDetail.Connecting;
        }
        else if (detail == AxisDetail.None && state != AxisState.Faulted)
        {
            detail = _causes != 0 ? AxisDetail.Inhibited
                : locked ? AxisDetail.Stopped
                : !CountsAsReferenced ? AxisDetail.NotReferenced
                : _node == AxisNode.Running && _inHand.Kind == AxisCommandKind.Contact && _pressing ? AxisDetail.Pressing
                : ProvesTimeout ? AxisDetail.ProvingTimeout
                : AxisDetail.None;
        }

        var reach = ReachNow();
        var snapshot = new AxisSnapshot
        {
            At = _freshAt,
            State = state,
            Detail = detail,
            Online = Online,
            Referenced = CountsAsReferenced,
            TorqueOn = _feedback.Has(DriveFlags.Powered),
            AtRest = Math.Abs(_velocity) < _restVelocity,
            Position = _isPlaceUnknown ? double.NaN : _scale.Shown(Position),
            Velocity = _velocity,
            Torque = Torque,
            HeatPercent = HeatPercent,
            TorqueRmsPercent = _torqueRms.Value,
            TorqueLoad = _load,
            Target = _scale.Shown(_scale.ToUnit(_targetCounts)),
            Inputs = _feedback.Inputs,
            Causes = _causes,
            Fault = _fault,
            DriveCode = _driveCode,
            ErrorPercent = ErrorPercent,
            IsFaultProvoked = _isFaultProvoked,
            FaultZone = _faultZone,
            ReachLower = reach.Lower,
            ReachUpper = reach.Upper,
            UnaskedUntil = _timeoutPhase == TimeoutPhase.Silent ? _silentUntil : TimeSpan.Zero,
            Moves = reach.Moves,
            DistanceFrom = _hasTarget ? _scale.ToUnit(_targetCounts) : Position,
            CommandId = _inHand.Id,
            StopEpochSeen = _stopEpoch,
            StopLocked = locked,
        };
        _board.Axes[Index].Write(snapshot);
    }
}
