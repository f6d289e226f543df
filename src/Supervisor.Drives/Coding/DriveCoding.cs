using Supervisor.Configuration.Drives;
using Supervisor.Drives.Exchange;

namespace Supervisor.Drives.Coding;

/// <summary>How one kind of drive codes its states and takes its commands. Pure: everything that changes is in the arguments.</summary>
public abstract class DriveCoding
{
    private readonly FieldSlot _position;
    private readonly FieldSlot _velocity;
    private readonly FieldSlot _torque;
    private readonly FieldSlot _followingError;
    private readonly FieldSlot _errorCode;
    private readonly BitSlot[] _inputs;
    private readonly FieldSlot _targetPosition;
    private readonly FieldSlot _profileVelocity;
    private readonly RampSlot _acceleration;
    private readonly RampSlot _deceleration;
    private readonly FieldSlot _torqueLimit;
    private readonly BitSlot[] _outputs;
    private readonly BitSlot _holdBrake;
    private readonly BitSlot _unlocked;
    private readonly ClearValues _clearValues;

    private protected DriveCoding(ExchangePlan plan)
    {
        Plan = plan;
        _position = plan.Feedback("position");
        _velocity = plan.Feedback("velocity");
        _torque = plan.Feedback("torque");
        _followingError = plan.Feedback("followingError");
        _errorCode = plan.Feedback("errorCode");
        _inputs = [.. plan.Drive.Inputs.Values.Select(bit => plan.FeedbackBit(bit))];
        _targetPosition = plan.Command("targetPosition");
        _profileVelocity = plan.Command("profileVelocity");
        _acceleration = new RampSlot(plan.Command("profileAcceleration"), plan.Command("accelerationTime"), plan.Drive.RampTimes);
        _deceleration = new RampSlot(plan.Command("profileDeceleration"), plan.Command("decelerationTime"), plan.Drive.RampTimes);
        _torqueLimit = plan.Command("torqueLimit");
        _outputs = [.. plan.Drive.Outputs.Values.Select(bit => plan.CommandBit(bit))];
        _holdBrake = plan.CommandBit(plan.Drive.HoldBrake);
        _unlocked = plan.FeedbackBit(plan.Drive.Unlock?.Unlocked);
        _clearValues = new ClearValues(plan);
    }

    /// <summary>The coding a definition asks for.</summary>
    public static DriveCoding Create(ExchangePlan plan)
    {
        ArgumentNullException.ThrowIfNull(plan);
        return plan.Drive.Coding == StateCoding.Cia402 ? new Cia402Coding(plan) : new BitCoding(plan);
    }

    /// <summary>Blocks and slots.</summary>
    public ExchangePlan Plan { get; }

    /// <summary>Offset of the register that stops motion.</summary>
    public abstract int ControlOffset { get; }

    /// <summary>Bits of the position counter as it wraps: 16 or 32.</summary>
    public int PositionBits => _position.Bits;

    /// <summary>Counts that one step of the position register is worth.</summary>
    public double PositionScale => _position.Scale;

    /// <summary>Farthest a target may be from the actual position, counts: half of what the narrower register counts round.</summary>
    public double FarthestTarget => Math.Min(_position.HalfRound, _targetPosition.HalfRound);

    /// <summary>Counts that one step of the target register is worth.</summary>
    public double TargetScale => _targetPosition.Scale;

    /// <summary>True when the drive reports its torque.</summary>
    public bool ReportsTorque => _torque.IsDeclared;

    /// <summary>True when the drive's torque limit can be commanded.</summary>
    public bool LimitsTorque => _torqueLimit.IsDeclared;

    /// <summary>True when the drive's velocity can be commanded.</summary>
    public bool CommandsVelocity => _profileVelocity.IsDeclared;

    /// <summary>True when the ramp at a move's start can be commanded.</summary>
    public bool CommandsAcceleration => _acceleration.IsDeclared;

    /// <summary>True when the ramp at a move's end can be commanded apart from the one at its start.</summary>
    public bool CommandsDeceleration => _deceleration.IsDeclared;

    /// <summary>The velocity in the image, counts/s, as its register rounds it.</summary>
    public double CommandedVelocity(CommandImage image)
    {
        ArgumentNullException.ThrowIfNull(image);
        return _profileVelocity.Value(image.Wanted);
    }

    /// <summary>True when the drive is read before its first stop, which then keeps the torque it has.</summary>
    public bool LooksBeforeStop => Plan.Drive.FirstStop == FirstStop.AfterRead;

    /// <summary>True when one feedback tells whether the drive moves.</summary>
    public virtual bool TellsMotion => _velocity.IsDeclared;

    /// <summary>True when the drive says that a target is reached.</summary>
    public abstract bool TellsInPosition { get; }

    /// <summary>True when a halt brings the drive to rest without taking its torque.</summary>
    public abstract bool HaltKeepsTorque { get; }

    /// <summary>True when a quick stop brakes on the commanded ramp, as a halt does.</summary>
    public abstract bool StopsOnCommandedRamp { get; }

    /// <summary>True when every feedback tells whether the drive knows its zero.</summary>
    public abstract bool TellsReferenced { get; }

    /// <summary>True when the drive tells whether torque is on.</summary>
    public abstract bool TellsPowered { get; }

    /// <summary>Decodes feedback registers.</summary>
    public void Decode(ReadOnlySpan<ushort> registers, CommandImage image, out DriveFeedback feedback)
    {
        ArgumentNullException.ThrowIfNull(image);
        feedback = default;
        feedback.PositionRaw = _position.Number(registers);
        feedback.IsPositionUnknown = _position.IsSentinel(registers);
        feedback.VelocityCounts = _velocity.IsDeclared ? _velocity.Value(registers) : double.NaN;
        feedback.TorquePercent = _torque.IsDeclared ? _torque.Value(registers) : double.NaN;
        feedback.FollowingErrorCounts = _followingError.IsDeclared ? _followingError.Value(registers) : double.NaN;
        feedback.ErrorCode = (ushort)_errorCode.Raw(registers);
        for (var i = 0; i < _inputs.Length && i < 32; i++)
        {
            if (_inputs[i].Get(registers))
            {
                feedback.Inputs |= 1u << i;
            }
        }

        feedback.Flags = DecodeFlags(registers, image, out feedback.CodedState);
        if (_unlocked.IsDeclared && !_unlocked.Get(registers))
        {
            feedback.Flags |= DriveFlags.Locked;
        }
    }

    /// <summary>Puts a target and its speeds into the image. Counts, counts/s, counts/s².</summary>
    public void PutMove(CommandImage image, double targetCounts, double velocity, double acceleration, double deceleration)
    {
        ArgumentNullException.ThrowIfNull(image);
        PutTarget(image, targetCounts);
        _profileVelocity.PutValue(image.Wanted, velocity);
        _acceleration.Put(image.Wanted, acceleration, velocity, brakes: !_deceleration.IsDeclared);
        _deceleration.Put(image.Wanted, deceleration, velocity, brakes: true);
    }

    /// <summary>Puts the ramp alone on which the drive brakes, counts/s², into the image.</summary>
    public void PutDeceleration(CommandImage image, double deceleration)
    {
        ArgumentNullException.ThrowIfNull(image);
        _deceleration.Put(image.Wanted, deceleration, CommandedVelocity(image), brakes: true);
    }

    /// <summary>True when the drive may brake on another ramp than the image's, and one frame tells it this one.</summary>
    public bool HoldsOtherRamp(CommandImage image)
    {
        ArgumentNullException.ThrowIfNull(image);
        return _deceleration.IsDeclared && !image.IsHeld(_deceleration.Field) && (!_deceleration.Field.IsWide || Plan.Drive.Wire.WriteFunction != 6);
    }

    /// <summary>Fills in the request that writes the ramp alone on which the drive brakes.</summary>
    public void WriteRamp(CommandImage image, Bus.Rtu.Transaction transaction, byte unit)
    {
        ArgumentNullException.ThrowIfNull(image);
        image.Write(transaction, unit, _deceleration.Field);
    }

    /// <summary>The drive confirmed the ramp as last sent.</summary>
    public void ConfirmRamp(CommandImage image)
    {
        ArgumentNullException.ThrowIfNull(image);
        image.Confirm(_deceleration.Field);
    }

    /// <summary>Puts a target, counts, into the image; it wraps at the register's width as the drive's counter does.</summary>
    public void PutTarget(CommandImage image, double targetCounts)
    {
        ArgumentNullException.ThrowIfNull(image);
        _targetPosition.PutRaw(image.Wanted, (uint)(long)Math.Round(targetCounts / _targetPosition.Scale));
    }

    /// <summary>Takes a target and its speeds back that did not go out yet: an axis that stops is told nothing but its stop.</summary>
    public void WithdrawMove(CommandImage image)
    {
        ArgumentNullException.ThrowIfNull(image);
        image.Withdraw(_targetPosition);
        image.Withdraw(_profileVelocity);
        _acceleration.Withdraw(image);
        _deceleration.Withdraw(image);
    }

    /// <summary>Puts the actual position into the image as the target.</summary>
    private protected void PutTargetHere(CommandImage image, in DriveFeedback feedback) => PutTarget(image, feedback.PositionRaw * _position.Scale);

    /// <summary>Sets the image up for a drive that was just met: every command bit low, target at the actual position, mode for moves.</summary>
    public abstract void Prepare(CommandImage image, in DriveFeedback feedback);

    /// <summary>The torque limit in the image as raw bits: what a drive that took it reads back.</summary>
    public uint TorqueLimitRaw(CommandImage image)
    {
        ArgumentNullException.ThrowIfNull(image);
        return _torqueLimit.Raw(image.Wanted);
    }

    /// <summary>Puts a torque limit, percent of rated, into the image; nothing when the drive has none.</summary>
    public void PutTorqueLimit(CommandImage image, double percent)
    {
        ArgumentNullException.ThrowIfNull(image);
        _torqueLimit.PutValue(image.Wanted, percent);
    }

    /// <summary>Sets or clears the output that the definition declares as <paramref name="output"/>-th.</summary>
    public void PutOutput(CommandImage image, int output, bool on)
    {
        ArgumentNullException.ThrowIfNull(image);
        _outputs[output].Put(image.Wanted, on);
    }

    /// <summary>The output that the definition declares as <paramref name="output"/>-th as the drive confirmed it; null while that is not known.</summary>
    public bool? HeldOutput(CommandImage image, int output)
    {
        ArgumentNullException.ThrowIfNull(image);
        return image.Held(_outputs[output], Plan.Drive.Wire.WordOrder);
    }

    /// <summary>Keeps the brake closed whatever the torque does, or leaves it to the drive again; nothing when the definition declares no such bit.</summary>
    public void PutHoldBrake(CommandImage image, bool closed)
    {
        ArgumentNullException.ThrowIfNull(image);
        _holdBrake.Put(image.Wanted, closed);
    }

    /// <summary>The drive was seen to have torque, and keeps it: nothing in the image may take it.</summary>
    public virtual void KeepPower(CommandImage image) => ArgumentNullException.ThrowIfNull(image);

    /// <summary>The drive may have started anew: no bit that holds torque on may be left standing in the image.</summary>
    public virtual void DropPower(CommandImage image) => ArgumentNullException.ThrowIfNull(image);

    /// <summary>Clears every output: what they move was not asked for since the drive started.</summary>
    public void ClearOutputs(CommandImage image)
    {
        ArgumentNullException.ThrowIfNull(image);
        foreach (var output in _outputs)
        {
            output.Put(image.Wanted, false);
        }
    }

    /// <summary>
    /// Carries a goal one step on: looks at the feedback, changes the image, says whether the goal is reached. Called after every
    /// feedback, and with <paramref name="fresh"/> false after every confirmed write.
    /// </summary>
    public GoalResult Pursue(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image)
    {
        ArgumentNullException.ThrowIfNull(image);
        if (fresh)
        {
            progress.Feedbacks++;
        }

        var before = progress.Stage;
        if (progress.Goal != DriveGoal.ClearFault || before == ClearValues.FirstStage)
        {
            _clearValues.Drop(image);
        }

        var result = Carry(ref progress, feedback, fresh, now, image);
        if (progress.Goal == DriveGoal.ClearFault)
        {
            _clearValues.Follow(before, progress.Stage, result, feedback, image);
        }

        return result;
    }

    private GoalResult Carry(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image) => progress.Goal switch
    {
        DriveGoal.QuickStop => QuickStop(ref progress, feedback, fresh, image),
        DriveGoal.Halt => Halt(ref progress, feedback, fresh, image),
        DriveGoal.PowerOff => PowerOff(feedback, fresh, image),
        DriveGoal.CutPower => CutPower(feedback, fresh, image),
        DriveGoal.Energise => Energise(feedback, fresh, image),
        DriveGoal.Home => Home(ref progress, feedback, fresh, now, image),
        DriveGoal.Move or DriveGoal.Push or DriveGoal.Stand => Move(ref progress, feedback, fresh, now, image),
        DriveGoal.ClearFault => ClearFault(ref progress, feedback, fresh, now, image),
        _ => GoalResult.Reached,
    };

    private protected abstract DriveFlags DecodeFlags(ReadOnlySpan<ushort> registers, CommandImage image, out byte codedState);

    private protected abstract GoalResult QuickStop(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, CommandImage image);

    private protected abstract GoalResult Halt(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, CommandImage image);

    private protected abstract GoalResult PowerOff(in DriveFeedback feedback, bool fresh, CommandImage image);

    private protected abstract GoalResult CutPower(in DriveFeedback feedback, bool fresh, CommandImage image);

    private protected abstract GoalResult Energise(in DriveFeedback feedback, bool fresh, CommandImage image);

    private protected abstract GoalResult Home(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image);

    private protected abstract GoalResult Move(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image);

    private protected abstract GoalResult ClearFault(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image);

    private protected static void Enter(ref GoalProgress progress, byte stage, TimeSpan now)
    {
        progress.Stage = stage;
        progress.Feedbacks = 0;
        progress.Since = now;
    }
}
