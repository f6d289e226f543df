using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;

namespace Supervisor.Machine.Recovery;

/// <content>What is done in each state.</content>
internal sealed partial class AxisRecovery
{
    private void Wait()
    {
        if (view.Now - _begunAt > (_rule!.Within > LongestWait ? _rule.Within : LongestWait))
        {
            GiveUp("too much time has passed since the fault");
            return;
        }

        LeaveMotionToAPerson();
        var isStillStopping = view[axis].Detail is AxisDetail.Stopping or AxisDetail.Deenergising;
        if (isStillStopping || (gate.Online(axis) ?? gate.Interlock(axis)) is not null)
        {
            _goodSince = null;
            return;
        }

        _goodSince ??= view.Now;
        if (view.Now - _goodSince < _budget!.Wait(view.Now))
        {
            return;
        }

        if (view[axis].State != AxisState.Faulted)
        {
            GiveUp("the axis is not faulted any more");
            return;
        }

        _budget.Note(view.Now);
        Give(RecoveryState.Resetting, new ResetCommand([axis]));
    }

    /// <summary>Where an interlock latched, if only because its inputs fell silent, a person will reset it; a reset must never set an axis in motion
    /// (2006/42/EC annex I, 1.2.4.3; ISO 13850), so what is left to do alone is the reset of the fault.</summary>
    private void LeaveMotionToAPerson()
    {
        if (_action == RecoveryAction.Reset || StandingInterlock() is not { } standing)
        {
            return;
        }

        _action = RecoveryAction.Reset;
        _limitedBy = standing.Definition.Name;
    }

    private void AfterReset(CommandAnswer answer)
    {
        if (answer.Outcome != Outcome.Done)
        {
            Retry(answer);
        }
        else if (_action == RecoveryAction.Reset)
        {
            Succeed(_limitedBy is { } name ? $"the fault is reset; {name} tripped meanwhile, so the rest is for a person to command" : "the fault is reset");
        }
        else
        {
            _forbiddenSince = null;
            _state = RecoveryState.Approach;
        }
    }

    private void Approach()
    {
        var homes = _action == RecoveryAction.ResetAndHome && _definition.Homing is not null;
        if (homes && desk.EarlierOnItsWay(axis) >= 0)
        {
            _forbiddenSince = null;
            return;
        }

        var obstacle = (homes ? gate.Motion(axis) : gate.Torque(axis))?.Message;
        if (homes && obstacle is null && desk.EarlierWithoutZero(axis) is var other and >= 0)
        {
            obstacle = $"{view.NameOf(other)} is homed before {_definition.Name} and has no zero";
        }

        if (obstacle is null)
        {
            Give(RecoveryState.Returning, homes ? new HomeCommand([axis]) : new EnableCommand([axis]));
            return;
        }

        _forbiddenSince ??= view.Now;
        if (view.Now - _forbiddenSince > LongestApproach)
        {
            GiveUp($"the fault is reset, but {obstacle}");
        }
    }

    private void AfterReturn(CommandAnswer answer)
    {
        if (answer.Outcome == Outcome.Done)
        {
            Succeed(Returned());
        }
        else
        {
            Retry(answer);
        }
    }

    private string Returned() => _command!.Command is HomeCommand ? "the axis is homed" : "the axis is enabled";

    private void Retry(CommandAnswer answer)
    {
        if (answer.Outcome == Outcome.Replaced)
        {
            Cancel(answer.Message);
        }
        else
        {
            Tell(RecoveryChange.AttemptFailed, $"attempt {_budget!.Made(view.Now)} of {_rule!.Attempts} failed: {answer.Message}");
            TryAgain();
        }
    }

    private void TryAgain()
    {
        if (_budget!.IsUsedUp(view.Now))
        {
            GiveUp($"{_rule!.Attempts} of {_rule.Attempts} attempts within {_rule.Within.TotalSeconds:0.#} s failed; reset it by hand");
        }
        else
        {
            EnterWaiting();
        }
    }
}
