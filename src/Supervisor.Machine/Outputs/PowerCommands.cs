using Supervisor.Machine.Api;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Planning;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Outputs;

/// <summary>Commands that switch the drives' power: refused, or ended when the mirror contact proves what was asked for.</summary>
internal sealed class PowerCommands(PowerDesk power, CommandAnswers answers, ModeDesk modes)
{
    private readonly List<PendingCommand> _pending = [];

    public void Begin(PendingCommand pending, SwitchPowerCommand command)
    {
        if (pending.Verdict is { } verdict)
        {
            answers.End(pending, verdict);
            return;
        }

        if ((CommandAnswers.Abandoned(pending) ?? (command.On ? NotPermitted() ?? power.SwitchOn() : power.SwitchOff())) is { } objection)
        {
            answers.Refuse(pending, objection);
            return;
        }

        pending.Accept();
        _pending.Add(pending);
    }

    public void Step()
    {
        for (var i = _pending.Count - 1; i >= 0; i--)
        {
            if (AnswerTo(_pending[i]) is { } answer)
            {
                answers.End(_pending[i], answer);
                _pending.RemoveAt(i);
            }
        }
    }

    public void GiveUp(string message)
    {
        foreach (var pending in _pending)
        {
            answers.End(pending, new CommandAnswer(pending.Id, Outcome.Replaced, Refusal.ShuttingDown, FaultCode.None, -1, message, null));
        }

        _pending.Clear();
    }

    private Objection? NotPermitted() => modes.Permits(ModeAct.SwitchPowerOn)
        ? null
        : new Objection(Refusal.NotInThisMode, -1, $"the power is not switched on in {ModeDesk.Name(modes.Mode)} mode: choose another mode first");

    private CommandAnswer? AnswerTo(PendingCommand pending)
    {
        var asked = ((SwitchPowerCommand)pending.Command).On;
        return power.State switch
        {
            PowerState.Faulted => End(pending, Outcome.Failed, Refusal.None, power.Fault, power.Faulted()),
            PowerState.On when asked => End(pending, Outcome.Done, Refusal.None, FaultCode.None, "the drives' power is on"),
            PowerState.Off when !asked => End(pending, Outcome.Done, Refusal.None, FaultCode.None, "the drives' power is off"),
            PowerState.SwitchingOn when asked => null,
            PowerState.SwitchingOff when !asked => null,
            _ when asked => End(pending, Outcome.Replaced, Refusal.PowerOff, FaultCode.None,
                "the contactor did not stay closed: an emergency stop or a guard is open, or the power was switched off again"),
            _ => End(pending, Outcome.Replaced, Refusal.ReplacedByCommand, FaultCode.None, "the power was switched on again"),
        };
    }

    private static CommandAnswer End(PendingCommand pending, Outcome outcome, Refusal refusal, FaultCode fault, string message) =>
        new(pending.Id, outcome, refusal, fault, -1, message, null);
}
