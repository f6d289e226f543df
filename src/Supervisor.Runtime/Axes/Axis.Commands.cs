using Supervisor.Configuration.Machines;
using Supervisor.Drives.Coding;
using Supervisor.Motion.Stopping;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;

namespace Supervisor.Runtime.Axes;

/// <content>Commands: what is refused, what becomes an event, and what limits and times it brings.</content>
public sealed partial class Axis
{
    private static readonly TimeSpan EnergisePatience = TimeSpan.FromSeconds(3);
    private static readonly TimeSpan PowerOffPatience = TimeSpan.FromSeconds(2);
    private static readonly TimeSpan ClearPatience = TimeSpan.FromSeconds(2);
    private static readonly TimeSpan StopGrace = TimeSpan.FromMilliseconds(750);

    /// <summary>Takes one command from the mailbox: it is refused, answered at once, or becomes an event.</summary>
    public void Give(in AxisCommand command, TimeSpan now)
    {
        var refusal = command.StopEpoch != _board.Latch.StopEpoch(Index) && command.Kind is not (AxisCommandKind.SetOutput or AxisCommandKind.Release)
            ? Refusal.Stopped
            : Refuse(command, now, out _refusedValue);
        if (refusal != Refusal.None)
        {
            if (refusal == Refusal.ParametersDiffer && _node == AxisNode.FaultOff)
            {
                // A person has accepted this drive: what was held back until then is done, and the next reset finds it so.
                AcceptDrive();
            }

            var outcome = refusal == Refusal.Stopped ? Outcome.Replaced : Outcome.Refused;
            Report(new AxisReport(command.Id, Index, outcome, refusal, FaultCode.None, _refusedValue, now));
            return;
        }

        _given = command;
        _contactPosition = 0;
        switch (command.Kind)
        {
            case AxisCommandKind.SetOutput:
                Coding.PutOutput(Image, (int)command.Target, command.Torque > 0);
                AnswerAtOnce(now);
                break;
            case AxisCommandKind.Release:
                Release(command, now);
                break;
            case AxisCommandKind.Enable when _node == AxisNode.Ready:
            case AxisCommandKind.Disable when _node == AxisNode.Off:
                AnswerAtOnce(now);
                break;
            case AxisCommandKind.Enable:
                Raise(AxisEvent.EnableGiven, now);
                break;
            case AxisCommandKind.Disable:
                Raise(AxisEvent.DisableGiven, now);
                break;
            case AxisCommandKind.Home:
                NoteUnproven(now);
                BeginUnknownWay(command.ExcusedZones);
                Raise(AxisEvent.HomeGiven, now);
                break;
            case AxisCommandKind.Reset:
                Raise(AxisEvent.ResetGiven, now);
                break;
            case AxisCommandKind.ProveBrake:
                Raise(AxisEvent.ProofGiven, now);
                break;
            case AxisCommandKind.LoadSupported:
                Raise(AxisEvent.SupportGiven, now);
                break;
            case var _ when command.Shape.AfterCurrent && _node == AxisNode.Running:
                Wait(command, now);
                break;
            default:
                BeginMove(command, now);
                break;
        }

        Publish();
    }

    private double _refusedValue;

    private Refusal Refuse(in AxisCommand command, TimeSpan now, out double value)
    {
        value = 0;
        if (!Online)
        {
            return Refusal.AxisOffline;
        }

        if (command.Kind == AxisCommandKind.SetOutput)
        {
            return command.Target >= 0 && command.Target < Definition.Drive.Outputs.Count ? Refusal.None : Refusal.NotSupportedByDrive;
        }

        if (command.Kind == AxisCommandKind.Release)
        {
            // What decelerates by a stop comes to rest first.
            return _node.Detail() == AxisDetail.Stopping ? Refusal.AxisBusy : Refusal.None;
        }

        if (IsParameterWork && command.Kind != AxisCommandKind.Disable)
        {
            return Refusal.ParametersInUse;
        }

        if (_node == AxisNode.FaultHolding && command.Kind is AxisCommandKind.Reset or AxisCommandKind.LoadSupported)
        {
            return command.Kind == AxisCommandKind.Reset ? Refusal.NeedsConfirmation : _still < 2 ? Refusal.AxisBusy : Refusal.None;
        }

        if (command.Kind == AxisCommandKind.Reset && _fault != FaultCode.None && HoldsParameterFault)
        {
            return Refusal.ParametersDiffer;
        }

        if (command.Kind == AxisCommandKind.LoadSupported)
        {
            return Refusal.NoHeldLoad;
        }

        if (command.Kind == AxisCommandKind.Reset)
        {
            return _fault == FaultCode.None ? Refusal.NotFaulted : AxisTable.Awaits(_node, AxisEvent.ResetGiven) ? Refusal.None : Refusal.AxisBusy;
        }

        if (_fault != FaultCode.None)
        {
            value = (int)_fault;
            return Refusal.AxisFaulted;
        }

        var forbidding = _causes & (command.Kind is AxisCommandKind.Enable ? _mask0 | _mask1 : _mask0 | _mask1 | _mask2);
        if (command.Kind != AxisCommandKind.Disable && forbidding != 0)
        {
            value = StopLatch.First(forbidding);
            return Refusal.InterlockOpen;
        }

        if (command.Kind is not (AxisCommandKind.Enable or AxisCommandKind.Disable) && _board.Latch.IsLocked(Index))
        {
            return Refusal.StopLocked;
        }

        return command.Kind switch
        {
            AxisCommandKind.Enable => _node == AxisNode.Ready ? Refusal.None
                : !CountsAsReferenced && (_isPlaceUnknown || !command.Confirmed) ? Refusal.NotReferenced
                : Awaited(AxisEvent.EnableGiven),
            AxisCommandKind.Disable => _node == AxisNode.Off ? Refusal.None : Awaited(AxisEvent.DisableGiven),
            AxisCommandKind.Home => RefuseHoming(command, now),
            AxisCommandKind.Move or AxisCommandKind.MoveBy or AxisCommandKind.MoveFromHere or AxisCommandKind.Contact or AxisCommandKind.Run =>
                RefuseMove(command, out value),
            AxisCommandKind.Jog => RefuseJog(command, now, out value),
            AxisCommandKind.ProveBrake => RefuseProof(),
            AxisCommandKind.ProveTimeout => RefuseTimeoutProof(command, out value),
            _ => Refusal.InvalidArgument,
        };
    }

    private Refusal Awaited(AxisEvent on) => AxisTable.Awaits(_node, on) ? Refusal.None : Refusal.AxisBusy;

    /// <summary>A stop that came after the release was given wins.</summary>
    private void Release(in AxisCommand command, TimeSpan now)
    {
        _board.Latch.Release(Index, command.StopEpoch);
        if (_board.Latch.IsLocked(Index))
        {
            Report(new AxisReport(command.Id, Index, Outcome.Replaced, Refusal.Stopped, FaultCode.None, 0, now));
        }
        else
        {
            AnswerAtOnce(now);
        }
    }

    private void AnswerAtOnce(TimeSpan now)
    {
        Report(new AxisReport(_given.Id, Index, Outcome.None, Refusal.None, FaultCode.None, 0, now));
        Report(new AxisReport(_given.Id, Index, Outcome.Done, Refusal.None, FaultCode.None, 0, now));
    }

    private TimeSpan TimeOf(AxisDeadline deadline) => deadline switch
    {
        AxisDeadline.Energise => EnergisePatience,
        AxisDeadline.BrakeRelease => Definition.Brake?.Release ?? TimeSpan.Zero,
        AxisDeadline.Home => Definition.Homing?.Timeout ?? TimeSpan.FromSeconds(60),
        AxisDeadline.Move => MoveTime(),
        AxisDeadline.JogLapse => JogLapse,
        AxisDeadline.Stop => Definition.Limits.StoppingTime(StopsFrom()) + StopGrace,
        AxisDeadline.BrakeClose => Definition.Brake?.Close ?? TimeSpan.Zero,
        AxisDeadline.PowerOff => PowerOffPatience,
        AxisDeadline.Clear => ClearPatience,
        AxisDeadline.Prove => ProofTime,
        _ => TimeSpan.MaxValue,
    };

    /// <summary>
    /// The speed that a stop's deadline is made for. What a drive tells beyond any speed that its axis can have, as a register that was never
    /// filled, gives no stop hours to fail in.
    /// </summary>
    private double StopsFrom() => Math.Clamp(Math.Abs(_velocity), Definition.Limits.Velocity, Definition.Limits.Velocity * MostOverspeed);

    private const double MostOverspeed = 4;

    // An axis whose file names no torque limits gets rated torque in every phase: its drive's register is written in any case.
    private static readonly TorqueDefinition RatedTorque = new(100, 100, 100, 100, 100);

    private TorqueDefinition TorqueLimits => Definition.Torque ?? RatedTorque;

    /// <summary>The torque limit of the phase that begins; after a contact the contact's limit goes on holding.</summary>
    private void PutTorqueLimit()
    {
        _limitDue = _limitBack is not null;
        _pushes &= _progress.Goal is DriveGoal.QuickStop or DriveGoal.Halt or DriveGoal.PowerOff or DriveGoal.CutPower;
        switch (_progress.Goal)
        {
            case DriveGoal.Home or DriveGoal.Move when _node == AxisNode.Searching:
                _pressing = false;
                Coding.PutTorqueLimit(Image, Definition.Homing?.HardStop?.Torque ?? TorqueLimits.Homing);
                break;
            case DriveGoal.Stand:
                Coding.PutTorqueLimit(Image, TorqueLimits.Holding);
                break;
            case DriveGoal.Push:
                _pushes = true;
                Coding.PutTorqueLimit(Image, Definition.Brake!.Proof!.Torque);
                break;
            case DriveGoal.Move:
                Coding.PutTorqueLimit(Image, _given.Kind == AxisCommandKind.Contact ? _given.Torque : TorqueLimits.Moving);
                break;
            case DriveGoal.Hold when !_pressing:
                Coding.PutTorqueLimit(Image, TorqueLimits.Holding);
                break;
            case DriveGoal.QuickStop or DriveGoal.Halt when _pushes:
                // More would only push harder against the brake, and this much carries the load.
                break;
            case DriveGoal.QuickStop:
                // Also after a contact: with its limit a load that sinks or runs could not be stopped.
                _pressing = false;
                Coding.PutTorqueLimit(Image, TorqueLimits.Stopping);
                break;
            case DriveGoal.Halt when !_pressing:
                Coding.PutTorqueLimit(Image, TorqueLimits.Stopping);
                break;
            case DriveGoal.Energise:
                _energisedTo = 0;
                _pressing = false;
                Coding.PutTorqueLimit(Image, TorqueLimits.Holding);
                break;
        }
    }
}
