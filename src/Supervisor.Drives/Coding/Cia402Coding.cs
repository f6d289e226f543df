using Supervisor.Drives.Exchange;

namespace Supervisor.Drives.Coding;

/// <summary>A drive that speaks CiA 402 words: state machine by controlword and statusword, profile position and homing modes.</summary>
public sealed class Cia402Coding : DriveCoding
{
    // How long a homing that reports itself attained from the first feedback on is doubted: the bit may be an earlier homing's.
    private static readonly TimeSpan StaleHoming = TimeSpan.FromMilliseconds(500);

    // How long a fault may need to clear before the edge is given again.
    private static readonly TimeSpan ResetPatience = TimeSpan.FromMilliseconds(300);

    private const byte Load = 0;
    private const byte Raise = 1;
    private const byte AwaitTaken = 2;
    private const byte AwaitReleased = 3;
    private const byte AwaitLow = 4;
    private const byte Search = 2;
    private const byte SearchSeen = 3;

    private readonly FieldSlot _statusword;
    private readonly FieldSlot _modeDisplay;
    private readonly FieldSlot _controlword;
    private readonly FieldSlot _mode;

    internal Cia402Coding(ExchangePlan plan)
        : base(plan)
    {
        _statusword = plan.Feedback("statusword");
        _modeDisplay = plan.Feedback("modeDisplay");
        _controlword = plan.Command("controlword");
        _mode = plan.Command("mode");
    }

    /// <inheritdoc/>
    public override int ControlOffset => _controlword.Offset;

    /// <inheritdoc/>
    public override bool TellsInPosition => true;

    /// <inheritdoc/>
    /// <remarks>With the usual choice of object 605Dh, 1: slow down on the ramp and stay in operation enabled (value from memory).</remarks>
    public override bool HaltKeepsTorque => true;

    /// <inheritdoc/>
    /// <remarks>Object 6085h has the quick stop's ramp.</remarks>
    public override bool StopsOnCommandedRamp => false;

    /// <inheritdoc/>
    /// <remarks>The bit of the statusword has its meaning in the homing mode alone.</remarks>
    public override bool TellsReferenced => false;

    /// <inheritdoc/>
    public override bool TellsPowered => true;

    /// <inheritdoc/>
    public override void Prepare(CommandImage image, in DriveFeedback feedback)
    {
        ArgumentNullException.ThrowIfNull(image);
        _mode.PutRaw(image.Wanted, (ushort)Cia402.ProfilePosition);
        PutTargetHere(image, feedback);
    }

    private protected override DriveFlags DecodeFlags(ReadOnlySpan<ushort> registers, CommandImage image, out byte codedState)
    {
        var word = (ushort)_statusword.Raw(registers);
        var state = Cia402.State(word);
        codedState = (byte)state;
        var flags = state switch
        {
            Cia402State.OperationEnabled => DriveFlags.Powered,
            Cia402State.QuickStopActive => DriveFlags.Powered | DriveFlags.QuickStop,
            Cia402State.FaultReactionActive => DriveFlags.Powered | DriveFlags.Fault,
            Cia402State.Fault => DriveFlags.Fault,
            _ => DriveFlags.None,
        };
        var wantedMode = _mode.Number(image.Wanted);
        if (!_modeDisplay.IsDeclared || _modeDisplay.Number(registers) == wantedMode)
        {
            flags |= DriveFlags.ModeConfirmed;
        }

        if ((word & Cia402.TargetReached) != 0)
        {
            flags |= DriveFlags.InPosition;
        }

        if (wantedMode == Cia402.Homing)
        {
            flags |= (word & Cia402.HomingError) != 0 ? DriveFlags.HomingError : DriveFlags.None;
            flags |= (word & Cia402.HomingAttained) != 0 ? DriveFlags.Referenced : DriveFlags.None;
        }
        else if ((word & Cia402.SetpointAcknowledged) != 0)
        {
            flags |= DriveFlags.SetpointTaken;
        }

        return flags;
    }

    private static Cia402State StateOf(in DriveFeedback feedback) => (Cia402State)feedback.CodedState;

    // What a maker put into his own bits is not the state machine's to change.
    private void Control(CommandImage image, int word) =>
        _controlword.PutRaw(image.Wanted, (uint)word | (_controlword.Raw(image.Wanted) & Cia402.MakersBits));

    private protected override GoalResult QuickStop(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, CommandImage image)
    {
        // Harmless where torque is off: it leads to switch on disabled (transitions 7 and 10).
        Control(image, Cia402.QuickStop);
        return fresh && StateOf(feedback) != Cia402State.OperationEnabled ? GoalResult.Reached : GoalResult.UnderWay;
    }

    private protected override GoalResult Halt(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, CommandImage image)
    {
        // The halt bit stays until a new set-point is raised in the same word: releasing it alone would resume the old move.
        Control(image, Cia402.EnableOperation | Cia402.Halt);
        return GoalResult.Reached;
    }

    private protected override GoalResult PowerOff(in DriveFeedback feedback, bool fresh, CommandImage image)
    {
        if (!fresh)
        {
            return GoalResult.UnderWay;
        }

        var state = StateOf(feedback);
        Control(image, state == Cia402State.OperationEnabled ? Cia402.DisableOperation : Cia402.DisableVoltage);
        return state is Cia402State.OperationEnabled or Cia402State.QuickStopActive or Cia402State.FaultReactionActive
            ? GoalResult.UnderWay
            : GoalResult.Reached;
    }

    private protected override GoalResult CutPower(in DriveFeedback feedback, bool fresh, CommandImage image)
    {
        Control(image, Cia402.DisableVoltage);
        return fresh && !feedback.Has(DriveFlags.Powered) ? GoalResult.Reached : GoalResult.UnderWay;
    }

    private protected override GoalResult Energise(in DriveFeedback feedback, bool fresh, CommandImage image)
    {
        if (!fresh)
        {
            return GoalResult.UnderWay;
        }

        _mode.PutRaw(image.Wanted, (ushort)Cia402.ProfilePosition);
        PutTargetHere(image, feedback);
        switch (StateOf(feedback))
        {
            case Cia402State.Fault or Cia402State.FaultReactionActive:
                return GoalResult.Failed;
            case Cia402State.QuickStopActive:
                Control(image, Cia402.DisableVoltage);
                return GoalResult.UnderWay;
            case Cia402State.ReadyToSwitchOn:
                Control(image, Cia402.SwitchOn);
                return GoalResult.UnderWay;
            case Cia402State.SwitchedOn:
                Control(image, Cia402.EnableOperation);
                return GoalResult.UnderWay;
            case Cia402State.OperationEnabled:
                Control(image, Cia402.EnableOperation);
                return feedback.Has(DriveFlags.ModeConfirmed) ? GoalResult.Reached : GoalResult.UnderWay;
            default:
                Control(image, Cia402.Shutdown);
                return GoalResult.UnderWay;
        }
    }

    private protected override GoalResult Move(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image)
    {
        // A halt in force stays in force until the new set-point is raised.
        var halt = (int)_controlword.Raw(image.Wanted) & Cia402.Halt;
        switch (progress.Stage)
        {
            case Load:
                // A handshake that was broken off left the bit high: without a look at its answer the drive might take two set-points for one.
                var wasRaised = (_controlword.Raw(image.Wanted) & Cia402.Start) != 0;
                _mode.PutRaw(image.Wanted, (ushort)Cia402.ProfilePosition);
                Control(image, Cia402.EnableOperation | Cia402.ChangeImmediately | halt);
                Enter(ref progress, wasRaised ? AwaitLow : Raise, now);
                return GoalResult.UnderWay;

            case AwaitLow when fresh && image.NextChanged() < 0 && progress.Feedbacks > 1 && !feedback.Has(DriveFlags.SetpointTaken):
                Enter(ref progress, Raise, now);
                return Move(ref progress, feedback, fresh, now, image);

            case Raise when image.NextChanged() < 0 && feedback.Has(DriveFlags.ModeConfirmed) && !feedback.Has(DriveFlags.SetpointTaken):
                Control(image, Cia402.EnableOperation | Cia402.ChangeImmediately | Cia402.Start);
                Enter(ref progress, AwaitTaken, now);
                return GoalResult.UnderWay;

            case AwaitTaken when fresh && image.NextChanged() < 0 && feedback.Has(DriveFlags.SetpointTaken):
                Control(image, Cia402.EnableOperation | Cia402.ChangeImmediately);
                Enter(ref progress, AwaitReleased, now);
                return GoalResult.UnderWay;

            case AwaitReleased when fresh && image.NextChanged() < 0 && !feedback.Has(DriveFlags.SetpointTaken):
                return GoalResult.Reached;

            default:
                return GoalResult.UnderWay;
        }
    }

    private protected override GoalResult Home(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image)
    {
        if (fresh && progress.Stage == SearchSeen && feedback.Has(DriveFlags.HomingError))
        {
            return GoalResult.Failed;
        }

        var attained = feedback.Has(DriveFlags.Referenced | DriveFlags.InPosition);
        switch (progress.Stage)
        {
            case Load:
                var halt = (int)_controlword.Raw(image.Wanted) & Cia402.Halt;
                _mode.PutRaw(image.Wanted, (ushort)Cia402.Homing);
                Control(image, Cia402.EnableOperation | halt);
                Enter(ref progress, Raise, now);
                return GoalResult.UnderWay;

            // A drive that does not tell its mode gets the time of one more feedback to change it.
            case Raise when fresh && image.NextChanged() < 0 && feedback.Has(DriveFlags.ModeConfirmed) && (_modeDisplay.IsDeclared || progress.Feedbacks > 1):
                Control(image, Cia402.EnableOperation | Cia402.Start);
                Enter(ref progress, Search, now);
                return GoalResult.UnderWay;

            // The bits may still be an earlier homing's: they count once the drive was seen running, or when they do not change for long.
            case Search when fresh && image.NextChanged() < 0 && (IsRunning(feedback) ? progress.Feedbacks > 1 : now - progress.Since > StaleHoming):
                Enter(ref progress, SearchSeen, now);
                return GoalResult.UnderWay;

            case SearchSeen when fresh && image.NextChanged() < 0 && attained:
                _mode.PutRaw(image.Wanted, (ushort)Cia402.ProfilePosition);
                PutTargetHere(image, feedback);
                Control(image, Cia402.EnableOperation);
                return GoalResult.Reached;

            default:
                return GoalResult.UnderWay;
        }
    }

    private static bool IsRunning(in DriveFeedback feedback) => !feedback.Has(DriveFlags.Referenced) && !feedback.Has(DriveFlags.HomingError);

    private protected override GoalResult ClearFault(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image)
    {
        switch (progress.Stage)
        {
            case Load:
                Control(image, Cia402.DisableVoltage);
                Enter(ref progress, Raise, now);
                return GoalResult.UnderWay;

            case Raise when image.NextChanged() < 0 && fresh:
                if (!feedback.Has(DriveFlags.Fault))
                {
                    return GoalResult.Reached;
                }

                Control(image, Cia402.FaultReset);
                Enter(ref progress, AwaitTaken, now);
                return GoalResult.UnderWay;

            case AwaitTaken when image.NextChanged() < 0 && fresh && !feedback.Has(DriveFlags.Fault):
                Control(image, Cia402.DisableVoltage);
                return GoalResult.Reached;

            case AwaitTaken when now - progress.Since > ResetPatience:
                Enter(ref progress, Load, now);
                return GoalResult.UnderWay;

            default:
                return GoalResult.UnderWay;
        }
    }
}
