using Supervisor.Bus.Rtu;
using Supervisor.Drives.Coding;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;

namespace Supervisor.Runtime.Axes;

/// <content>Torque: the limit of a phase read back before it, energising step by step, and proof that the load is held.</content>
public sealed partial class Axis
{
    // A motor that carries the load shows at least this share of its torque; friction takes the rest.
    private const double LoadShare = 0.3;

    // The drive takes the load over while the brake opens.
    private static readonly TimeSpan LoadPatience = TimeSpan.FromMilliseconds(500);

    private readonly Parameter? _limitBack;
    private bool _limitDue;
    private byte _energisedTo;

    /// <summary>A phase that relies on its torque limit waits until the drive was seen to hold it. A stop never waits.</summary>
    private bool AwaitsTorqueLimit => _limitDue && _progress.Goal is DriveGoal.Move or DriveGoal.Push or DriveGoal.Home or DriveGoal.Energise;

    private void TakeTorqueLimit(Transaction transaction, TimeSpan now)
    {
        _limitBack!.TakeReply(transaction);
        _limitDue = false;
        if (_limitBack.Raw != Coding.TorqueLimitRaw(Image))
        {
            SeeFault(FaultCode.TorqueLimitUnverified, 0, now);
        }
    }

    /// <summary>Every step on the way to torque has its own time; a step that was reached before gains none.</summary>
    private void WatchEnergising(TimeSpan now)
    {
        var isStep = Coding is Cia402Coding && (Cia402State)_feedback.CodedState is Cia402State.ReadyToSwitchOn or Cia402State.SwitchedOn or Cia402State.OperationEnabled;
        if (isStep && _feedback.CodedState > _energisedTo)
        {
            _energisedTo = _feedback.CodedState;
            _deadline = now + EnergisePatience;
        }
    }

    /// <summary>The brake is open: a motor that shows no torque under a known load does not carry it.</summary>
    private bool HoldsLoad => Definition.GravityTorque is not { } gravity || !Coding.ReportsTorque || Math.Abs(Torque) >= gravity * LoadShare;

    /// <summary>True while the end of energising waits for the torque of the load; a fault when it does not come.</summary>
    private bool AwaitsLoad(TimeSpan now)
    {
        if (_node is not (AxisNode.BrakeReleasing or AxisNode.HomeBrakeReleasing or AxisNode.ProofBrakeReleasing) || HoldsLoad)
        {
            return false;
        }

        if (now >= _deadline + LoadPatience)
        {
            SeeFault(FaultCode.LoadNotCarried, 0, now);
        }

        return true;
    }
}
