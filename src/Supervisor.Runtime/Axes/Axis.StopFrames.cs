using Supervisor.Bus.Rtu;
using Supervisor.Drives;
using Supervisor.Drives.Coding;

namespace Supervisor.Runtime.Axes;

/// <content>The stop on the wire: urgent at first, repeated until the feedback shows that it works.</content>
public sealed partial class Axis
{
    // A stop that is not answered goes out once more at once; after that it takes its turn, so that its neighbours keep theirs.
    private const int UrgentStopAttempts = 2;
    
    private bool _stopDue;
    private bool _stopTried;
    private bool _rampDue;
    private int _rampMisses;
    private double _stopSpeed;

    /// <summary>A stop frame has to go out now, before anything else. One that went unheard twice takes its turn in the cycle.</summary>
    internal bool IsStopUrgent => _stopDue && StopAttempts < UrgentStopAttempts && (Online || !IsMissing);

    /// <summary>Stop frames sent since the stop began and not confirmed: others go first.</summary>
    internal int StopAttempts { get; private set; }

    /// <summary>Frames of its stop that were lost so far, a ramp ahead of it among them: who lost fewer goes first.</summary>
    internal int StopTurn => StopAttempts + _rampMisses;

    /// <summary>Fills in the stop frame.</summary>
    internal AxisRequest AskStop(Transaction transaction, TimeSpan now)
    {
        if (_rampDue)
        {
            Coding.WriteRamp(Image, transaction, Unit);
            return AxisRequest.StopRamp;
        }

        DropPowerAfterSilence(now);
        Image.WriteControl(transaction, Unit);
        return AxisRequest.Stop;
    }

    /// <summary>Fills in a quick stop, whatever the axis is doing.</summary>
    internal void AskLastStop(Transaction transaction, TimeSpan now)
    {
        if (_node != AxisNode.FaultHolding)
        {
            // A held load keeps the word that holds it.
            _progress = new GoalProgress { Goal = DriveGoal.QuickStop };
            Coding.Pursue(ref _progress, _feedback, fresh: false, now, Image);
        }

        DropPowerAfterSilence(now);
        Image.WriteControl(transaction, Unit);
    }

    /// <summary>A stop begins, or ends because something else was commanded.</summary>
    private void BeginStop(DriveGoal goal)
    {
        var isStop = goal is DriveGoal.QuickStop or DriveGoal.Halt or DriveGoal.CutPower;
        if (!isStop && goal is DriveGoal.Hold or DriveGoal.PowerOff)
        {
            // What only follows a stop does not call back one that has not gone out yet.
            return;
        }

        if (isStop)
        {
            // A target that has not gone out must not follow the stop to the drive.
            Coding.WithdrawMove(Image);
        }

        _stopDue = isStop;
        StopAttempts = 0;
        _stopSpeed = Math.Abs(_velocity);
        _rampDue = false;
        _rampMisses = 0;
    }

    /// <summary>A stop frame is repeated until the feedback shows that it worked: slower than at its start, or torque off.</summary>
    private void FollowStop()
    {
        var stopping = _progress.Goal is DriveGoal.QuickStop or DriveGoal.Halt or DriveGoal.CutPower;
        var speed = Math.Abs(_velocity);
        if (Online && !_stopDue && _progress.Goal == DriveGoal.CutPower && _feedback.Has(DriveFlags.Powered))
        {
            _stopDue = true;
        }
        else if (Online && stopping && !_stopDue && _feedback.Has(DriveFlags.Powered) && speed > _restVelocity && speed > _stopSpeed * 0.95)
        {
            _stopDue = true;
        }
    }
}
