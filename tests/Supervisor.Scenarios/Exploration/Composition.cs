using Supervisor.Drives.Coding;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>The axis by its table, a drive, interlocks, a holder of authority and a recovery: what can happen next, and what comes of it.</summary>
internal sealed class Composition
{
    private const int FirstEvent = (int)Turn.Category0;
    private readonly TableAxis _axis;

    public Composition(TableUnderTest table, CodedGoals goals)
    {
        Trail = new Trail();
        Table = table;
        _axis = new TableAxis(table, goals, Trail);
    }

    public TableUnderTest Table { get; }

    /// <summary>Collects the rows that steps use.</summary>
    public HashSet<int>? Rows { get; init; }

    /// <summary>What the last step did.</summary>
    public Trail Trail { get; }

    /// <summary>Everything that can happen at any time; <see cref="CanHappen"/> says what can now.</summary>
    public static Turn[] Turns { get; } = Enum.GetValues<Turn>();

    /// <summary>Every drive a supervisor may meet at its start, from switched off to running on without anybody.</summary>
    public static IEnumerable<Composite> Starts()
    {
        foreach (var power in Enum.GetValues<Power>())
        {
            foreach (var motion in Enum.GetValues<Motion>())
            {
                var start = new Composite { Node = AxisNode.Connecting, Goal = DriveGoal.QuickStop, Wanted = 2, Power = power, Motion = motion };
                if (start.Powered || motion != Motion.Moving)
                {
                    start.Word = (ushort)(power == Power.OperationEnabled ? 0x2F : 0);
                    start.Pending = power == Power.OperationEnabled && motion == Motion.Moving;
                    yield return start;

                    // An earlier run left it holding a load; guards stand from the start until they are reset.
                    yield return start with
                    {
                        Node = AxisNode.FaultHolding,
                        Goal = DriveGoal.Hold,
                        Wanted = 0,
                        Faulted = true,
                        HoldsBrake = true,
                        BrakeHeld = start.Powered,
                        Limit = Limit.Holding,
                        TorqueForbidden = motion == Motion.Still,
                        Permit = start.Powered ? Permit.Hold : Permit.Off,
                    };
                }
            }
        }
    }

    public static bool CanHappen(in Composite s, Turn turn) => turn switch
    {
        Turn.Act => true,
        Turn.Answer => s.Link == Link.Silent,
        Turn.FallSilent => s.Link != Link.Silent,
        Turn.NoticeRestart => s.Online && s.RestartUnnoticed,
        Turn.BeAnother => s.Link == Link.Meeting,
        Turn.FindFault => s.Online && (!s.Faulted || s.Node == AxisNode.FaultClearing),
        Turn.Miss => s.Online && s.InHand == Hand.Contact && s.MoveTaken && StandardDrive.CanTake(s, DriveTurn.Finish),
        Turn.FailProof => s.Online && s.Node == AxisNode.ProvingBrake,
        Turn.PassProof or Turn.LeaveUnrelieved => s.Online && s.Node == AxisNode.ProvingBrake && s.MoveTaken,
        Turn.Finish => s.Online && StandardDrive.CanTake(s, DriveTurn.Finish) && (s.InHand != Hand.Contact || s.MoveTaken),
        Turn.HoldAfterQuickStop => s.Link != Link.Silent && StandardDrive.CanTake(s, DriveTurn.HoldAfterQuickStop),
        < Turn.BeAnother => s.Online && StandardDrive.CanTake(s, (DriveTurn)turn),
        Turn.ReleaseJog or Turn.OpenEnabling => s.Online && s.Node == AxisNode.Jogging,
        Turn.ActUnseen => s.Online && s.Lagged && (s.Powered || s.TorqueIsComing),
        Turn.ResetInterlocks => s.TorqueForbidden || s.MotionForbidden,
        Turn.TakeAuthority => !s.Authority,
        Turn.LoseAuthority => s.Authority,
        (>= Turn.GiveEnable and <= Turn.GiveProof) or Turn.GiveSupport => s.Authority && s.Online,
        Turn.BeginRecovery => s.Recovering == Recovering.None && RestsFaulted(s) && MayRecover(s),
        Turn.RecoverReset => s.Recovering == Recovering.Waiting && MayRecover(s) && RestsFaulted(s),
        Turn.RecoverEnable or Turn.RecoverHome => s.Recovering == Recovering.Approach && MayRecover(s),
        Turn.GiveUpRecovery => s.Recovering != Recovering.None,
        _ => true,
    };

    /// <summary>One step; false when it violates an invariant, which the trail tells.</summary>
    public bool Step(in Composite before, Turn turn, out Composite after)
    {
        Trail.Clear();
        after = before;
        if ((int)turn < FirstEvent)
        {
            Cycle(ref after, turn);
        }
        else
        {
            Happen(ref after, turn);
        }

        FollowRecovery(ref after, turn);
        Monitor.Judge(before, ref after, turn, Trail);
        foreach (var row in Rows is null ? [] : Trail.Rows)
        {
            Rows!.Add(row);
        }

        after.MoveTaken &= after.Node is AxisNode.Running or AxisNode.Jogging or AxisNode.ProvingBrake;
        return Trail.Violation is null;
    }

    // While the axis still stops, a recovery that waits is the same as one not begun.
    private static bool RestsFaulted(in Composite s) => s.InHand == Hand.None && s.Node.State() == AxisState.Faulted && s.Node.Detail() == AxisDetail.None;

    private static bool MayRecover(in Composite s) => s.Online && !s.TorqueForbidden && !s.MotionForbidden;

    private void Cycle(ref Composite s, Turn turn)
    {
        switch (s.Link)
        {
            case Link.Silent:
                WaitForAnswer(ref s, turn);
                return;
            case Link.Meeting:
                Meet(ref s, turn);
                return;
        }

        if (turn == Turn.FallSilent)
        {
            _axis.SeeFault(ref s);
            LoseLink(ref s, Link.Silent);
            return;
        }

        if (turn == Turn.NoticeRestart)
        {
            s.RestartUnnoticed = s.Referenced = false;
            _axis.SeeFault(ref s);
            LoseLink(ref s, Link.Meeting);
            return;
        }

        Exchange(ref s, turn);
    }

    private void Exchange(ref Composite s, Turn turn)
    {
        // What did not change is not written again: a drive that began anew unseen hears nothing.
        var written = !s.Clean || !s.RestartUnnoticed || s.Lagged;
        (s.Held, s.HoldsHoming) = (s.Wanted, s.WantsHoming);
        s.HoldsHere = s.Goal == DriveGoal.Stand;
        s.BrakeHeldCycles = !s.BrakeHeld ? (byte)0 : (byte)Math.Min(s.BrakeHeldCycles + 1, 3);
        s.BrakeHeld = s.HoldsBrake;
        if (turn == Turn.PassProof)
        {
            // The target is where the axis stands: there is nothing left to go.
            (s.Pending, s.InPosition) = (false, true);
        }

        var touches = turn == Turn.Finish && s.InHand == Hand.Contact;
        StandardDrive.Act(ref s, DriveTurnOf(turn, touches), written, Trail);
        if (touches)
        {
            s.Motion = Motion.Still;
        }

        s.StageCycles = (byte)Math.Min(s.StageCycles + 1, 3);
        AxisEvent? arrival = touches ? AxisEvent.Arrived
            : !s.InPosition || s.Motion != Motion.Still ? null
            : s.InHand == Hand.Contact ? AxisEvent.Missed
            : AxisEvent.Arrived;
        _axis.Take(ref s, StandardDrive.Statusword(s), s.Motion == Motion.Still, arrival, turn switch
        {
            Turn.PassProof => AxisEvent.ProofPassed,
            Turn.LeaveUnrelieved => AxisEvent.ProofUnrelieved,
            Turn.FailProof => AxisEvent.ProofFailedUnderLoad,
            _ => null,
        });
        Trail.PoweredSeen = s.Powered;
        if (s.Deadline != AxisDeadline.None && --s.Remaining == 0)
        {
            _axis.PassDeadline(ref s);
        }
    }

    private static DriveTurn DriveTurnOf(Turn turn, bool touches) => turn switch
    {
        Turn.Miss => DriveTurn.Finish,
        _ when touches => DriveTurn.Act,
        < Turn.BeAnother => (DriveTurn)turn,
        _ => DriveTurn.Act,
    };

    private void LoseLink(ref Composite s, Link link)
    {
        s.Link = link;

        // By the time it answers, what was waited for is long over.
        s.Remaining = (byte)Math.Min((int)s.Remaining, 1);
        _axis.MeetAnew(ref s);
    }

    /// <summary>A drive that hears nobody stops by its own time-out and switches off.</summary>
    private static void WaitForAnswer(ref Composite s, Turn turn)
    {
        if (turn == Turn.Answer)
        {
            s.Link = Link.Meeting;
        }
        else if (s.Motion != Motion.Still)
        {
            (s.Pending, s.Motion) = (false, s.Motion == Motion.Moving && !s.Jammed ? Motion.Slowing : Motion.Still);
        }
        else if (s.Powered)
        {
            s.Power = s.Power == Power.FaultReaction ? Power.Fault : Power.SwitchOnDisabled;
            s.Pending = s.Jammed = s.Stuck = false;
        }
    }

    /// <summary>The stop goes out first; then everything is read and set, judged, and the axis is met.</summary>
    private void Meet(ref Composite s, Turn turn)
    {
        if (turn == Turn.FallSilent)
        {
            s.Link = Link.Silent;
            return;
        }

        if (s.Node == AxisNode.FaultHolding)
        {
            _axis.MeetHeldLoad(ref s);
        }

        (s.Held, s.HoldsHoming, s.HoldsHere) = (s.Wanted, s.WantsHoming, s.Goal == DriveGoal.Stand);
        s.BrakeHeld = s.HoldsBrake;
        StandardDrive.Act(ref s, turn == Turn.HoldAfterQuickStop ? DriveTurn.HoldAfterQuickStop : DriveTurn.Act, written: true, Trail);
        s.Link = Link.Met;
        (s.StageCycles, s.Limit) = (0, s.Node == AxisNode.FaultHolding ? Limit.Holding : Limit.Stopping);
        s.Referenced &= s.Zero && !s.RestartUnnoticed;
        s.RestartUnnoticed = false;
        if (turn == Turn.BeAnother)
        {
            // It is not the drive that was here before.
            s.Referenced = false;
            _axis.SeeFault(ref s);
        }

        Trail.Met = true;
        _axis.Contacted(ref s);
    }

    private void Happen(ref Composite s, Turn turn)
    {
        switch (turn)
        {
            case Turn.Category0:
            case Turn.Category1:
                (s.TorqueForbidden, s.MotionForbidden) = (true, false);
                _axis.Raise(ref s, turn == Turn.Category0 ? AxisEvent.Category0 : AxisEvent.Category1);
                break;
            case Turn.Category2:
                s.MotionForbidden = !s.TorqueForbidden;
                _axis.Raise(ref s, AxisEvent.Category2);
                break;
            case Turn.ResetInterlocks:
                s.TorqueForbidden = s.MotionForbidden = false;
                break;
            case Turn.Stop:
                s.MotionForbidden = !s.TorqueForbidden;
                _axis.Raise(ref s, AxisEvent.StopRequested);
                break;
            case Turn.Halt:
                _axis.Raise(ref s, AxisEvent.StopRequested);
                break;
            case Turn.TakeAuthority:
                s.Authority = true;
                break;
            case Turn.LoseAuthority:
                s.Authority = false;
                _axis.Raise(ref s, AxisEvent.StopRequested);
                break;
            case Turn.ActUnseen:
                StandardDrive.Act(ref s, DriveTurn.Act, written: true, Trail);
                break;
            case Turn.FindFault:
                _axis.SeeFault(ref s);
                break;
            case Turn.ReleaseJog:
                _axis.Raise(ref s, AxisEvent.JogReleased);
                break;
            case Turn.OpenEnabling:
                _axis.Raise(ref s, AxisEvent.EnablingOpened);
                break;
            case Turn.BeginRecovery:
                s.Recovering = Recovering.Waiting;
                break;
            case Turn.GiveUpRecovery:
                s.Recovering = Recovering.None;
                break;
            case Turn.RecoverReset:
                Recover(ref s, Hand.Reset, Recovering.Resetting);
                break;
            case Turn.RecoverEnable:
                Recover(ref s, Hand.Enable, Recovering.Returning);
                break;
            case Turn.RecoverHome:
                Recover(ref s, Hand.Home, Recovering.Returning);
                break;
            default:
                Trail.Accepted = _axis.Give(ref s, CommandOf(turn));
                break;
        }
    }

    public static Hand CommandOf(Turn turn) => turn switch
    {
        Turn.GiveEnable or Turn.RecoverEnable => Hand.Enable,
        Turn.GiveDisable => Hand.Disable,
        Turn.GiveHome or Turn.RecoverHome => Hand.Home,
        Turn.GiveMove => Hand.Move,
        Turn.GiveContact => Hand.Contact,
        Turn.GiveJog => Hand.Jog,
        Turn.GiveProof => Hand.Prove,
        Turn.GiveSupport => Hand.Support,
        Turn.GiveReset or Turn.RecoverReset => Hand.Reset,
        _ => Hand.None,
    };

    private void Recover(ref Composite s, Hand command, Recovering next)
    {
        Trail.Accepted = _axis.Give(ref s, command);
        s.Recovering = Trail.Accepted ? next : Recovering.None;
    }

    /// <summary>An interlock, a stop or a person's command cancels it; the ends of its own commands carry it on.</summary>
    private void FollowRecovery(ref Composite s, Turn turn)
    {
        if (s.Recovering == Recovering.None)
        {
            return;
        }

        var cancelled = turn is Turn.Category0 or Turn.Category1 or Turn.Category2 or Turn.Stop or Turn.Halt or Turn.LoseAuthority
            || (turn is (>= Turn.GiveEnable and <= Turn.GiveProof) or Turn.GiveSupport && Trail.Accepted);
        s.Recovering = (s.Recovering, Trail.Ended, Trail.Outcome) switch
        {
            _ when cancelled => Recovering.None,
            (Recovering.Resetting, Hand.Reset, Outcome.Done) => Recovering.Approach,
            (Recovering.Resetting, Hand.Reset, _) => Recovering.Waiting,
            (Recovering.Returning, Hand.Enable or Hand.Home, Outcome.Failed) => Recovering.Waiting,
            (Recovering.Returning, Hand.Enable or Hand.Home, _) => Recovering.None,
            _ => s.Recovering,
        };
    }
}
