using Supervisor.Drives.Exchange;

namespace Supervisor.Drives.Coding;

/// <summary>A drive whose states and commands are single bits named by its definition. A bit it lacks is never relied on.</summary>
public sealed class BitCoding : DriveCoding
{
    // A drive needs some time before its bits answer a command; until then an old "in position" or "referenced" may still stand.
    private static readonly TimeSpan StaleBits = TimeSpan.FromMilliseconds(500);
    private static readonly TimeSpan ResetPatience = TimeSpan.FromMilliseconds(300);

    // A drive that acknowledges does so within a few of its own cycles; the rest is for a slow line.
    private static readonly TimeSpan AcknowledgePatience = TimeSpan.FromSeconds(2);

    private const byte Load = 0;
    private const byte Raise = 1;
    private const byte AwaitBegun = 2;
    private const byte AwaitEnd = 3;
    private const byte AwaitTaken = 4;
    private const byte Unanswered = 5;

    private readonly BitSlot _powered;
    private readonly BitSlot _inPosition;
    private readonly BitSlot _referenced;
    private readonly BitSlot _fault;
    private readonly BitSlot _moving;
    private readonly BitSlot _power;
    private readonly BitSlot _go;
    private readonly BitSlot _stop;
    private readonly BitSlot _findReference;
    private readonly BitSlot _clearFault;
    private readonly Acknowledge _goTaken;
    private readonly Acknowledge _referenceTaken;
    private readonly Acknowledge _clearTaken;

    internal BitCoding(ExchangePlan plan)
        : base(plan)
    {
        var states = plan.Drive.States!;
        var commands = plan.Drive.Commands!;
        _powered = plan.FeedbackBit(states.Powered);
        _inPosition = plan.FeedbackBit(states.InPosition);
        _referenced = plan.FeedbackBit(states.Referenced);
        _fault = plan.FeedbackBit(states.Fault);
        _moving = plan.FeedbackBit(states.Moving);
        _power = plan.CommandBit(commands.Power);
        _go = plan.CommandBit(commands.Go);
        _stop = plan.CommandBit(commands.Stop);
        _findReference = plan.CommandBit(commands.FindReference);
        _clearFault = plan.CommandBit(commands.ClearFault);
        var acknowledges = plan.Drive.Acknowledges;
        _goTaken = new Acknowledge(plan.FeedbackBit(acknowledges.Go), DriveFlags.GoAcknowledged);
        _referenceTaken = new Acknowledge(plan.FeedbackBit(acknowledges.FindReference), DriveFlags.ReferenceAcknowledged);
        _clearTaken = new Acknowledge(plan.FeedbackBit(acknowledges.ClearFault), DriveFlags.ClearAcknowledged);
    }

    /// <inheritdoc/>
    public override int ControlOffset => (_stop.IsDeclared ? _stop : _power).RegisterOffset(Plan.Drive.Wire.WordOrder);

    /// <inheritdoc/>
    public override bool TellsInPosition => _inPosition.IsDeclared;

    /// <inheritdoc/>
    public override bool HaltKeepsTorque => _stop.IsDeclared;

    /// <inheritdoc/>
    public override bool StopsOnCommandedRamp => true;

    /// <inheritdoc/>
    public override bool TellsReferenced => _referenced.IsDeclared;

    /// <inheritdoc/>
    public override bool TellsMotion => _moving.IsDeclared || base.TellsMotion;

    /// <inheritdoc/>
    public override bool TellsPowered => _powered.IsDeclared;

    /// <inheritdoc/>
    public override void Prepare(CommandImage image, in DriveFeedback feedback)
    {
        ArgumentNullException.ThrowIfNull(image);
        _go.Put(image.Wanted, false);
        _findReference.Put(image.Wanted, false);
        _clearFault.Put(image.Wanted, false);
        if (LooksBeforeStop)
        {
            // Seen just now: what holds torque goes on holding it, until it stands and its brake has closed.
            _power.Put(image.Wanted, feedback.Has(DriveFlags.Powered));
        }

        PutTargetHere(image, feedback);
    }

    /// <inheritdoc/>
    public override void KeepPower(CommandImage image)
    {
        ArgumentNullException.ThrowIfNull(image);
        _power.Put(image.Wanted, true);
    }

    /// <inheritdoc/>
    public override void DropPower(CommandImage image)
    {
        ArgumentNullException.ThrowIfNull(image);
        _power.Put(image.Wanted, false);
    }

    private protected override DriveFlags DecodeFlags(ReadOnlySpan<ushort> registers, CommandImage image, out byte codedState)
    {
        codedState = 0;
        var flags = DriveFlags.ModeConfirmed;
        // A drive that does not tell is believed to do what its power bit says.
        flags |= (_powered.IsDeclared ? _powered.Get(registers) : _power.Get(image.Wanted)) ? DriveFlags.Powered : DriveFlags.None;
        flags |= _inPosition.Get(registers) ? DriveFlags.InPosition : DriveFlags.None;
        flags |= _referenced.Get(registers) ? DriveFlags.Referenced : DriveFlags.None;
        flags |= _fault.Get(registers) ? DriveFlags.Fault : DriveFlags.None;
        flags |= _moving.Get(registers) ? DriveFlags.Moving : DriveFlags.None;
        flags |= _goTaken.Read(registers) | _referenceTaken.Read(registers) | _clearTaken.Read(registers);
        return flags;
    }

    private protected override GoalResult QuickStop(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, CommandImage image) =>
        Halt(ref progress, feedback, fresh, image);

    private protected override GoalResult Halt(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, CommandImage image)
    {
        _go.Put(image.Wanted, false);
        _findReference.Put(image.Wanted, false);
        _clearFault.Put(image.Wanted, false);
        if (_stop.IsDeclared)
        {
            _stop.Put(image.Wanted, true);
        }

        // Without torque a power bit that is on its way would bring it with the stop.
        if (!_stop.IsDeclared || !feedback.Has(DriveFlags.Powered))
        {
            _power.Put(image.Wanted, false);
        }

        return GoalResult.Reached;
    }

    private protected override GoalResult PowerOff(in DriveFeedback feedback, bool fresh, CommandImage image)
    {
        _go.Put(image.Wanted, false);
        _findReference.Put(image.Wanted, false);
        _power.Put(image.Wanted, false);
        return fresh && !feedback.Has(DriveFlags.Powered) ? GoalResult.Reached : GoalResult.UnderWay;
    }

    private protected override GoalResult CutPower(in DriveFeedback feedback, bool fresh, CommandImage image)
    {
        _stop.Put(image.Wanted, true);
        return PowerOff(feedback, fresh, image);
    }

    private protected override GoalResult Energise(in DriveFeedback feedback, bool fresh, CommandImage image)
    {
        if (!fresh)
        {
            return GoalResult.UnderWay;
        }

        if (feedback.Has(DriveFlags.Fault))
        {
            return GoalResult.Failed;
        }

        PutTargetHere(image, feedback);
        _go.Put(image.Wanted, false);
        _findReference.Put(image.Wanted, false);
        _clearFault.Put(image.Wanted, false);
        _power.Put(image.Wanted, true);
        return feedback.Has(DriveFlags.Powered) && image.NextChanged() < 0 ? GoalResult.Reached : GoalResult.UnderWay;
    }

    private protected override GoalResult Move(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image) =>
        Start(_go, _goTaken, ref progress, feedback, fresh, now, image) switch
        {
            AwaitEnd => GoalResult.Reached,
            Unanswered => GoalResult.Failed,
            _ => GoalResult.UnderWay,
        };

    private protected override GoalResult Home(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image)
    {
        var stage = Start(_findReference, _referenceTaken, ref progress, feedback, fresh, now, image);
        if (stage == Unanswered)
        {
            return GoalResult.Failed;
        }

        if (stage != AwaitEnd || !fresh || !feedback.Has(DriveFlags.Referenced) || feedback.Has(DriveFlags.Moving))
        {
            return GoalResult.UnderWay;
        }

        _findReference.Put(image.Wanted, false);
        PutTargetHere(image, feedback);
        return GoalResult.Reached;
    }

    /// <summary>
    /// Gives the edge of a starting bit and waits for a sign that it was seen; returns the stage reached. A drive that acknowledges gets the edge only
    /// once it has taken its last acknowledgement back, and keeps the bit until it acknowledges.
    /// </summary>
    private byte Start(BitSlot bit, Acknowledge taken, ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image)
    {
        switch (progress.Stage)
        {
            case Load:
                bit.Put(image.Wanted, false);
                Enter(ref progress, Raise, now);
                break;

            case Raise when image.NextChanged() < 0 && taken.IsFree(feedback, fresh):
                _stop.Put(image.Wanted, false);
                bit.Put(image.Wanted, true);
                Enter(ref progress, taken.IsDeclared ? AwaitTaken : AwaitBegun, now);
                break;

            case AwaitTaken when fresh && image.NextChanged() < 0 && taken.IsGiven(feedback):
                bit.Put(image.Wanted, false);
                Enter(ref progress, AwaitBegun, now);
                break;

            case Raise or AwaitTaken when taken.IsDeclared && now - progress.Since > AcknowledgePatience:
                bit.Put(image.Wanted, false);
                Enter(ref progress, Unanswered, now);
                break;

            case AwaitBegun when fresh && image.NextChanged() < 0 && (Begun(bit, feedback) || now - progress.Since > StaleBits):
                if (bit.Rising)
                {
                    bit.Put(image.Wanted, false);
                }

                Enter(ref progress, AwaitEnd, now);
                break;
        }

        return progress.Stage;
    }

    private bool Begun(BitSlot bit, in DriveFeedback feedback)
    {
        if (_moving.IsDeclared)
        {
            return feedback.Has(DriveFlags.Moving);
        }

        var end = bit.Equals(_go) ? _inPosition : _referenced;
        return end.IsDeclared && !feedback.Has(bit.Equals(_go) ? DriveFlags.InPosition : DriveFlags.Referenced);
    }

    private protected override GoalResult ClearFault(ref GoalProgress progress, in DriveFeedback feedback, bool fresh, TimeSpan now, CommandImage image)
    {
        switch (progress.Stage)
        {
            case Load:
                _clearFault.Put(image.Wanted, false);
                _power.Put(image.Wanted, false);
                Enter(ref progress, Raise, now);
                return GoalResult.UnderWay;

            case Raise when image.NextChanged() < 0 && fresh && _clearTaken.IsFree(feedback, fresh):
                if (!feedback.Has(DriveFlags.Fault))
                {
                    return GoalResult.Reached;
                }

                _clearFault.Put(image.Wanted, true);
                Enter(ref progress, _clearTaken.IsDeclared ? AwaitTaken : AwaitBegun, now);
                return GoalResult.UnderWay;

            case AwaitTaken when image.NextChanged() < 0 && fresh && _clearTaken.IsGiven(feedback):
                _clearFault.Put(image.Wanted, false);
                Enter(ref progress, AwaitBegun, now);
                return feedback.Has(DriveFlags.Fault) ? GoalResult.UnderWay : GoalResult.Reached;

            case Raise or AwaitTaken when _clearTaken.IsDeclared && now - progress.Since > AcknowledgePatience:
                _clearFault.Put(image.Wanted, false);
                return GoalResult.Failed;

            case AwaitBegun when image.NextChanged() < 0 && fresh && !feedback.Has(DriveFlags.Fault):
                _clearFault.Put(image.Wanted, false);
                return GoalResult.Reached;

            case AwaitBegun when now - progress.Since > ResetPatience:
                Enter(ref progress, Load, now);
                return GoalResult.UnderWay;

            default:
                return GoalResult.UnderWay;
        }
    }
}
