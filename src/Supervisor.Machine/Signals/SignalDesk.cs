using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Signals;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Watching;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Signals;

/// <summary>Signal lights and horn, by the state of the machine and its alarms. Not a safety function.</summary>
internal sealed class SignalDesk
{
    private readonly MachineView _view;
    private readonly CommandAnswers _answers;
    private readonly SignalConditions _conditions;
    private readonly SignalOutput[] _lights;
    private readonly SignalOutput? _hornOutput;
    private readonly Horn? _horn;
    private readonly SilenceButton? _button;
    private readonly int _buttonCell;
    private TimeSpan _testUntil;
    private bool _testsHorn;
    private bool _hasEnded;
    private int _states;

    // In this order: bit 0 the horn sounds, bit 1 a lamp test.
    private int _shown;

    public SignalDesk(MachineView view, InterlockDesk interlocks, ModeDesk modes, AlarmDesk alarms, CommandAnswers answers, IJournal journal)
    {
        (_view, _answers) = (view, answers);
        _conditions = new SignalConditions(view, interlocks, modes, alarms);
        var board = view.Board.Outputs;
        _lights = [.. Signals.Lights.Select((_, i) => OutputOf(board.FirstLight + i))];
        if (Signals.Horn is { } horn)
        {
            _horn = new Horn(horn.Longest);
            _hornOutput = OutputOf(board.Horn);
            _button = horn.SilenceInput is null ? null : new SilenceButton(horn.SilenceStaleAfter);
            _buttonCell = horn.SilenceInput is null ? -1 : view.Board.Inputs.IndexOf(horn.SilenceInput);
        }

        SignalOutput OutputOf(int index) => new(board.Cells[index], index, board.Places[index].Source == OutputSource.Module, journal);
    }

    private SignalsDefinition Signals => _view.Board.Machine.Signals;

    /// <summary>True for a command that it takes.</summary>
    public static bool IsOurs(MachineCommand command) => command is SilenceHornCommand or TestLampsCommand;

    /// <summary>Does what a command says; it ends at once.</summary>
    public void Begin(PendingCommand pending)
    {
        if (ObjectionTo(pending.Command) is { } objection)
        {
            _answers.Refuse(pending, objection);
            return;
        }

        pending.Accept();
        _answers.End(pending, new CommandAnswer(pending.Id, Outcome.Done, Refusal.None, FaultCode.None, -1, Do(pending.Command), null));
    }

    public void Step()
    {
        if (_hasEnded || (_lights.Length == 0 && _horn is null))
        {
            return;
        }

        var now = _view.Now;
        var states = _conditions.Look();
        var isTest = now < _testUntil;
        for (var i = 0; i < _lights.Length; i++)
        {
            var light = Signals.Lights[i];
            _lights[i].Step(isTest || SignalLight.IsOn(light, SignalLight.Look(light, states), now), now);
        }

        var sounds = StepHorn(now) || (isTest && _testsHorn);
        _hornOutput?.Step(sounds, now);
        Volatile.Write(ref _states, (int)states);
        Volatile.Write(ref _shown, (sounds ? 1 : 0) | (isTest ? 2 : 0));
    }

    /// <summary>The process is about to end: lights and horn are as the file wants them without the daemon. Once.</summary>
    public void End()
    {
        _hasEnded = true;
        for (var i = 0; i < _lights.Length; i++)
        {
            Put(_lights[i], Signals.Lights[i].AtLoss);
        }

        if (_hornOutput is not null)
        {
            Put(_hornOutput, Signals.Horn!.AtLoss);
        }
    }

    /// <summary>True once every place that answers has confirmed what was ordered last.</summary>
    public bool IsConfirmed()
    {
        var all = _hornOutput?.IsConfirmed ?? true;
        foreach (var light in _lights)
        {
            all &= light.IsConfirmed;
        }

        return all;
    }

    /// <summary>The lights. Any thread.</summary>
    public IReadOnlyList<LightStatus> Lights()
    {
        var states = (SignalStates)Volatile.Read(ref _states);
        var isTest = (Volatile.Read(ref _shown) & 2) != 0;
        return [.. Signals.Lights.Select(Of)];

        LightStatus Of(LightDefinition light, int index)
        {
            var look = isTest ? LightLook.Steady : SignalLight.Look(light, states);
            var reading = _lights[index].Reading;
            return new LightStatus(
                light, look, isTest ? SignalStates.None : states & (light.Steady | light.Flashing),
                reading.Known && look != LightLook.Flashing ? reading.On : null, reading.Known);
        }
    }

    /// <summary>The horn; null where there is none. Any thread.</summary>
    public HornStatus? Horn() => Signals.Horn is { } horn
        ? new HornStatus(horn.Output.Text, (Volatile.Read(ref _shown) & 1) != 0, _hornOutput!.Reading is { Known: true, On: var on } ? on : null)
        : null;

    private bool StepHorn(TimeSpan now)
    {
        if (_horn is null)
        {
            return false;
        }

        _horn.Step(_conditions.Alarms.Newest(Signals.Horn!.From), now);
        if (_button is not null && _button.Step(_view.Board.Inputs.Read(_buttonCell), now))
        {
            _horn.Silence();
        }

        return _horn.Sounds;
    }

    private void Put(SignalOutput output, OutputState atLoss)
    {
        if (atLoss != OutputState.Hold)
        {
            output.Order(atLoss == OutputState.On, _view.Now);
        }
    }

    private Objection? ObjectionTo(MachineCommand command) => command switch
    {
        SilenceHornCommand when _horn is null => new Objection(Refusal.InvalidArgument, -1, "the machine file has no horn"),
        TestLampsCommand when _lights.Length == 0 && _horn is null => new Objection(Refusal.InvalidArgument, -1, "the machine file has no signal lights"),
        _ => null,
    };

    private string Do(MachineCommand command)
    {
        if (command is TestLampsCommand test)
        {
            (_testUntil, _testsHorn) = (_view.Now + Signals.LampTest, test.Horn);
            return $"every signal light{(test.Horn && _horn is not null ? " and the horn are" : " is")} on for {Sentences.Number(Signals.LampTest.TotalSeconds)} s: see that none is missing";
        }

        return _horn!.Silence() ? "the horn is silent; it sounds again at the next alarm, and nothing is acknowledged by this" : "the horn did not sound";
    }
}
