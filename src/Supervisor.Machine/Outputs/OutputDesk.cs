using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Watching;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Outputs;

/// <summary>The named outputs: what holds them, and the commands that set them. Not a safety function.</summary>
internal sealed class OutputDesk
{
    private readonly MachineView _view;
    private readonly CommandAnswers _answers;
    private readonly ModeDesk _modes;
    private readonly NamedOutput[] _outputs;
    private readonly List<Setting> _settings = [];

    public OutputDesk(MachineView view, CommandAnswers answers, ModeDesk modes, IJournal journal)
    {
        (_view, _answers, _modes) = (view, answers, modes);
        _outputs = [.. Enumerable.Range(0, view.Board.Machine.Outputs.Count).Select(index => new NamedOutput(view.Board, index, journal))];
    }

    private MachineDefinition Machine => _view.Board.Machine;

    /// <summary>True for a command that sets an output with a use in the machine file, by its name or its place.</summary>
    public bool IsOurs(MachineCommand command) =>
        command is SetOutputCommand set && (set.Axis == -1 || PlaceOf(set) is { } place && (Machine.OutputIndex(place) >= 0 || UseOf(place) is not null));

    public void Begin(PendingCommand pending, SetOutputCommand set)
    {
        if (pending.Verdict is { } verdict)
        {
            _answers.End(pending, verdict);
            return;
        }

        var index = Machine.OutputIndex(PlaceOf(set) ?? set.Output);
        if ((CommandAnswers.Abandoned(pending) ?? ObjectionTo(set, index)) is { } objection)
        {
            _answers.Refuse(pending, objection);
            return;
        }

        var output = _outputs[index];
        output.Order(set.On, _view.Now);
        pending.Accept();
        _settings.Add(new Setting(pending, output, output.Cell.Order.Number));
    }

    public void Step()
    {
        if (_outputs.Length == 0)
        {
            return;
        }

        var standing = _view.Board.Latch.Standing();
        foreach (var output in _outputs)
        {
            output.Step(standing, _view.Now);
        }

        for (var i = _settings.Count - 1; i >= 0; i--)
        {
            if (AnswerTo(_settings[i]) is { } answer)
            {
                _answers.End(_settings[i].Pending, answer);
                _settings.RemoveAt(i);
            }
        }
    }

    /// <summary>The process is about to end, the axes have stopped: what the file wants at the loss of the daemon is done while it can be. Once.</summary>
    public void End()
    {
        foreach (var output in _outputs)
        {
            if (output.Definition.AtLoss != OutputState.Hold)
            {
                output.Order(output.Definition.AtLoss == OutputState.On, _view.Now);
            }
        }
    }

    /// <summary>True once every output that answers has confirmed what was ordered last.</summary>
    public bool IsConfirmed()
    {
        foreach (var output in _outputs)
        {
            var reading = output.Cell.Read();
            if (reading.Known && reading.Acknowledged != output.Cell.Order.Number)
            {
                return false;
            }
        }

        return true;
    }

    public void GiveUp(string message)
    {
        foreach (var setting in _settings)
        {
            _answers.End(setting.Pending, new CommandAnswer(setting.Pending.Id, Outcome.Replaced, Refusal.ShuttingDown, FaultCode.None, -1, message, null));
        }

        _settings.Clear();
    }

    private Objection? ObjectionTo(SetOutputCommand set, int index)
    {
        var place = PlaceOf(set) ?? set.Output;
        if (index < 0)
        {
            return UseOf(place) is { } use
                ? new Objection(Refusal.OutputNotByHand, -1, $"{place} is the machine's {use}")
                : new Objection(Refusal.UnknownOutput, -1, Unknown(place));
        }

        var output = _outputs[index];
        var name = output.Definition.Name;
        if (!_modes.Permits(ModeAct.SetOutput))
        {
            return new Objection(Refusal.NotInThisMode, -1, $"outputs are not set in {ModeDesk.Name(_modes.Mode)} mode: choose another mode first");
        }

        var hold = OutputHold.Of(_view.Board, output.Definition, _view.Board.Latch.Standing());
        if (hold.Reason != HoldReason.None && hold.On != set.On)
        {
            return new Objection(Refusal.OutputHeld, hold.Axis,
                $"{name} is held {(hold.On ? "on" : "off")} because {hold.Because(Machine)}: {hold.Remedy(Machine)} first");
        }

        return output.Cell.Read().Known
            ? null
            : new Objection(Refusal.OutputSilent, -1, $"{name} can't be set: {output.Definition.Place.Text} does not answer; check {WhatToCheck(output.Definition.Place)}");
    }

    private CommandAnswer? AnswerTo(Setting setting)
    {
        var (pending, output, number) = setting;
        var name = output.Definition.Name;
        var reading = output.Cell.Read();
        if (reading.Acknowledged == number)
        {
            return new CommandAnswer(pending.Id, Outcome.Done, Refusal.None, FaultCode.None, -1, $"{name} is {(reading.On ? "on" : "off")}", null);
        }

        if (output.Cell.Order.Number != number)
        {
            var why = output.Hold.Reason != HoldReason.None ? $"it is held because {output.Hold.Because(Machine)}" : "it was set anew, or found changed";
            return new CommandAnswer(pending.Id, Outcome.Replaced, Refusal.ReplacedByCommand, FaultCode.None, -1, $"{name}: {why}", null);
        }

        return !reading.Known || output.IsLate(_view.Now)
            ? new CommandAnswer(pending.Id, Outcome.Failed, Refusal.None, FaultCode.OutputNotConfirmed, -1,
                $"{name} was not confirmed at its level: check what is wired to {output.Definition.Place.Text}, and look at what it operates", null)
            : null;
    }

    /// <summary>The place that a command for a drive's output names; null for one that names an output of the machine file.</summary>
    private string? PlaceOf(SetOutputCommand set) => set.Axis >= 0 && _view.IsKnown(set.Axis) ? $"{_view.NameOf(set.Axis)}.{set.Output}" : null;

    /// <summary>What the supervisor itself uses a place for, with what to do instead; null: nothing.</summary>
    private string? UseOf(string place) =>
        place == Machine.Alive?.Output.Text ? "alive output, which the supervisor toggles itself"
        : place == Machine.PowerEnable?.Output.Text ? "power-enable: switch the power instead (power on, power off)"
        : Machine.SignalAt(place) is { } signal ? $"{signal}, which shows its state: test it instead (lamps test)"
        : null;

    private string Unknown(string name) => Machine.Outputs.Count == 0
        ? $"there is no output {name}: the machine file names none"
        : $"there is no output {name}: name one of {Sentences.Names([.. Machine.Outputs.Select(output => output.Name)])}";

    private string WhatToCheck(OutputReference place) => place.Source switch
    {
        OutputSource.Drive => $"the drive of {_view.NameOf(place.Axis)} and its line",
        OutputSource.Module => "the module and its line",
        _ => "that the chip is there and nobody else holds the line",
    };

    private sealed record Setting(PendingCommand Pending, NamedOutput Output, long Number);
}
