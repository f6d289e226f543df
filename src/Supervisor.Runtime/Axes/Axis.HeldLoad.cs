using Supervisor.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Stops;

namespace Supervisor.Runtime.Axes;

/// <content>A load whose brake failed its proof: the motor holds it, with the brake closed for what friction it has left.</content>
/// <remarks>
/// Taking the torque would hand the load to a brake that was just seen to give way. The motor is no safe way of holding a load either: it lets go
/// with its supply, its drive or its line. People keep from under the load until something else carries it.
/// </remarks>
public sealed partial class Axis
{
    private readonly ulong _tripsBeforeStart;
    private bool _isFirstLook = true;
    private bool _tellsHeldLoad;
    private bool _isHeldStill;

    /// <summary>Where gravity pulls, by the machine file.</summary>
    private bool HasLoad => Definition.GravityLoaded || Definition.GravityTorque > 0;

    /// <summary>An earlier run left the motor holding the load. Told once the drive is met; until then nobody knows whether it still does.</summary>
    private void RememberHeldLoad()
    {
        (_node, _fault, _tellsHeldLoad) = (AxisNode.FaultHolding, FaultCode.LoadHeldByTorque, true);
        Coding.PutHoldBrake(Image, closed: true);
    }

    private void FailProof(TimeSpan now)
    {
        if (!HasLoad)
        {
            SeeFault(FaultCode.BrakeProofFailed, 0, now);
            return;
        }

        _seen = FaultCode.BrakeProofFailed;
        _driveCode = 0;
        Raise(AxisEvent.ProofFailedUnderLoad, now);
    }

    /// <summary>The target by which the motor leaves off pushing and stands.</summary>
    private void HoldHere()
    {
        _isHeldStill = false;
        _stayCounts = Counts;
        _pushes = false;
        LayOutPush(Counts);
    }

    /// <summary>Standing once, it must go on standing. What moves further is held by too little; less torque would not hold it better.</summary>
    private void SuperviseHeldLoad(TimeSpan now)
    {
        if (_node != AxisNode.FaultHolding || _isPlaceUnknown)
        {
            return;
        }

        if (!_isHeldStill && _still >= 2)
        {
            (_isHeldStill, _stayCounts) = (true, Counts);
        }

        var window = StandstillWindow + (_isHeldStill ? 0 : Definition.Brake?.Proof?.Reach ?? 0);
        if (Math.Abs(_scale.ToUnit(Counts - _stayCounts)) > window)
        {
            SeeFault(FaultCode.StandstillLost, 0, now);
        }
    }

    /// <summary>Trips that take no torque from a held load: the end of the supervisor, and what stood before anyone could look.</summary>
    private ulong SparesHeldLoad(ulong tripped)
    {
        var spared = _node == AxisNode.FaultHolding ? (1UL << StopCauses.ShutDown) | (_isFirstLook ? _tripsBeforeStart : 0) : 0;
        _isFirstLook = false;
        return tripped & ~spared;
    }

    /// <summary>A drive that may hold a load is read before it is told anything, as the usual first stop may take its torque.</summary>
    private bool LooksBeforeFirstStop => Coding.LooksBeforeStop || _node == AxisNode.FaultHolding;

    /// <summary>The goal of a meeting's first word.</summary>
    private DriveGoal FirstGoal => _node == AxisNode.FaultHolding ? DriveGoal.Hold : DriveGoal.QuickStop;

    /// <summary>The drive was read for the first time: what has torque is stopped so that it keeps it; without torque there is nothing left to hold.</summary>
    private void MeetHeldLoad(TimeSpan now)
    {
        if (!_feedback.Has(DriveFlags.Powered))
        {
            TellHeldLoad(now);
            LoseHeldLoad(now);
            _progress = new GoalProgress { Goal = DriveGoal.QuickStop, Since = now };
            Coding.Pursue(ref _progress, _feedback, fresh: false, now, Image);
            _stopDue = true;
            return;
        }

        Coding.KeepPower(Image);
        if (Coding.HaltKeepsTorque)
        {
            _progress = new GoalProgress { Goal = DriveGoal.Halt, Since = now };
            Coding.Pursue(ref _progress, _feedback, fresh: false, now, Image);
            _stopDue = true;
        }
    }

    private void LoseHeldLoad(TimeSpan now)
    {
        _seen = FaultCode.HeldLoadReleased;
        _driveCode = _feedback.ErrorCode;
        Raise(AxisEvent.TorqueOff, now);
    }

    /// <summary>The drive is met and still holds: from now on the load must stand where it is found.</summary>
    private void HoldMetLoad(TimeSpan now)
    {
        if (_node == AxisNode.FaultHolding)
        {
            TellHeldLoad(now);
            HoldHere();
        }
    }

    private void TellHeldLoad(TimeSpan now)
    {
        if (!_tellsHeldLoad)
        {
            return;
        }

        _tellsHeldLoad = false;
        Tell(new FaultEvent(now, Index, (short)Definition.Port, _fault, 0, AxisState.Faulted, 0, _isPlaceUnknown ? double.NaN : Position), latched: true);
        if (Definition.Group is { } group)
        {
            _board.Latch.Trip(_board.Causes.Group(group));
        }
    }
}
