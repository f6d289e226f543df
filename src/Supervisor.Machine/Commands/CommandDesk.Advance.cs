using Supervisor.Machine.Planning;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Commands;

/// <content>What becomes of a running command in one step.</content>
internal sealed partial class CommandDesk
{
    private void Advance(RunningCommand running)
    {
        GiveUpDeadPorts(running);
        WatchTorque(running);
        if (running.Cause is null && running.IsStepAt(PartStage.Taken))
        {
            running.Pending.Accept();
        }

        WatchWaiting(running);
        if (running.Cause is null && running.IsStepAt(PartStage.Ended))
        {
            NextStep(running);
        }

        if (running.Cause is { } cause)
        {
            StopTheRest(running);
            if (!running.IsInHand())
            {
                _answers.End(running, cause);
            }
        }
    }

    private void NextStep(RunningCommand running)
    {
        var next = Array.Find(running.Parts, static part => part.Stage == PartStage.Waiting);
        if (next is null)
        {
            _answers.EndDone(running);
            return;
        }

        if ((MayBegin(running, next.Step) ?? _zones.Judge(running.Parts, next.Step, _inHand)) is { } objection)
        {
            running.Cause = new CommandCause(Outcome.Replaced, objection.Reason, FaultCode.None, objection.Axis, objection.Message);
        }
        else if (Room(running.Parts, next.Step) is null)
        {
            running.Step = next.Step;
            GiveStep(running);
        }
    }

    /// <summary>
    /// What comes up on an axis while it waits for its step ends the command, though it may be over by then: what follows a reset is for
    /// a person to command.
    /// </summary>
    private void WatchWaiting(RunningCommand running)
    {
        foreach (var part in running.Parts)
        {
            if (running.Cause is null && part.Stage == PartStage.Waiting
                && (_planner.NotStopped(part.Axis, part.Command.StopEpoch) ?? _planner.Held(part.Axis)) is { } held)
            {
                running.Cause = new CommandCause(Outcome.Replaced, held.Reason, FaultCode.None, held.Axis, held.Message);
            }
        }
    }

    private Objection? MayBegin(RunningCommand running, int step)
    {
        foreach (var part in running.Parts)
        {
            if (part.Step == step && (CommandAnswers.Abandoned(running.Pending) ?? _planner.NotStopped(part.Axis, part.Command.StopEpoch)
                ?? _planner.MayBegin(part, _inHand)) is { } objection)
            {
                return objection;
            }
        }

        return null;
    }

    /// <summary>Once a command has a cause its other axes must not go on alone: what waits never begins, what moves is stopped once.</summary>
    private void StopTheRest(RunningCommand running)
    {
        foreach (var part in running.Parts)
        {
            if (part.Stage == PartStage.Waiting)
            {
                part.Stage = PartStage.Ended;
            }
            else if (part.IsInHand && !part.IsBeingStopped && IsMotion(part.Command.Kind))
            {
                part.IsBeingStopped = true;

                // An axis that already has a later command is on its way to another's target: that one is not to be stopped.
                if (_inHand[part.Axis] == running)
                {
                    StoppedByItself?.Invoke(part.Axis, _view.Board.Latch.RequestHalt(part.Axis));
                }
            }
        }
    }

    private void GiveUpDeadPorts(RunningCommand running)
    {
        foreach (var part in running.Parts)
        {
            if (part.IsInHand && !_view.IsAlive(_view.Axes[part.Axis].Port))
            {
                EndPart(running, part);
                running.Cause ??= _answers.DeadPort(part.Axis);
            }
        }
    }

    /// <summary>Parts of axes that lose their torque without being told by this command.</summary>
    private void WatchTorque(RunningCommand running)
    {
        foreach (var part in running.Parts)
        {
            if (part.WatchUntil is not { } until || !part.IsInHand)
            {
                continue;
            }

            var isOff = _view.IsOnline(part.Axis) && _view.IsOff(part.Axis);
            if (isOff || _view.Now >= until)
            {
                EndPart(running, part);
                running.Cause ??= isOff ? null : _answers.StillOn(part.Axis);
            }
        }
    }
}
