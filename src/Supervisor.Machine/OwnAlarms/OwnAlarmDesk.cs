using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Watching;
using Supervisor.Records.Alarms;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.OwnAlarms;

/// <summary>
/// The alarms of the machine file: raised by inputs, counters and steps of routines. They tell and call; what must stop axes is an interlock.
/// </summary>
internal sealed class OwnAlarmDesk
{
    private readonly MachineView _view;
    private readonly AlarmDesk _alarms;
    private readonly CommandAnswers _answers;
    private readonly (InputAlarm State, int Cell, OwnAlarmDefinition Definition)[] _inputs;
    private readonly (Counter State, int Cell)[] _counters;
    private readonly (AlarmCounter At, OwnAlarmDefinition Definition)[] _limits;
    private readonly bool[] _isOver;
    private bool _isBegun;
    private readonly SnapshotCell<CounterNote>[] _notes;

    /// <param name="view">The machine.</param>
    /// <param name="alarms">Keeps what is raised.</param>
    /// <param name="answers">Ends commands.</param>
    /// <param name="counts">Counts that an earlier run left, in the machine file's order.</param>
    public OwnAlarmDesk(MachineView view, AlarmDesk alarms, CommandAnswers answers, IReadOnlyList<long> counts)
    {
        (_view, _alarms, _answers) = (view, alarms, answers);
        var inputs = view.Board.Inputs;
        _inputs = [.. Machine.Alarms.Where(alarm => alarm.Input is not null).Select(alarm => (new InputAlarm(alarm.Input!), inputs.IndexOf(alarm.Input!.Input), alarm))];
        _counters = [.. Machine.Counters.Select((counter, i) => (new Counter(counter, counts[i]), counter.Input is { } input ? inputs.IndexOf(input.Input) : -1))];
        _limits = [.. Machine.Alarms.Where(alarm => alarm.Counter is not null).Select(alarm => (alarm.Counter!, alarm))];
        _isOver = new bool[_limits.Length];
        _notes = [.. Machine.Counters.Select(_ => new SnapshotCell<CounterNote>())];
        for (var i = 0; i < _notes.Length; i++)
        {
            _notes[i].Write(new CounterNote { Count = counts[i] });
        }
    }

    /// <summary>The counters, written when they change; version 0 while one is as remembered. Any thread.</summary>
    public IReadOnlyList<SnapshotCell<CounterNote>> Counters => _notes;

    private MachineDefinition Machine => _view.Board.Machine;

    /// <summary>True for a command that it takes.</summary>
    public static bool IsOurs(MachineCommand command) => command is RaiseAlarmCommand or ClearAlarmCommand or CountCommand or ResetCounterCommand;

    /// <summary>Does what a command says; it ends at once.</summary>
    public void Begin(PendingCommand pending)
    {
        if (pending.Verdict is { } verdict)
        {
            _answers.End(pending, verdict);
            return;
        }

        if ((CommandAnswers.Abandoned(pending) ?? ObjectionTo(pending.Command)) is { } objection)
        {
            _answers.Refuse(pending, objection);
            return;
        }

        pending.Accept();
        _answers.End(pending, new CommandAnswer(pending.Id, Outcome.Done, Refusal.None, FaultCode.None, -1, Do(pending.Command), null));
    }

    public void Step()
    {
        if (!_isBegun)
        {
            _isBegun = true;
            TakeUp();
        }

        foreach (var (state, cell, definition) in _inputs)
        {
            var was = state.IsRaised;
            state.Step(_view.Board.Inputs.Read(cell), _view.Now);
            if (state.IsRaised != was)
            {
                Tell(definition, state.IsRaised);
            }
        }

        for (var i = 0; i < _counters.Length; i++)
        {
            var (state, cell) = _counters[i];
            if (cell >= 0)
            {
                state.Step(_view.Board.Inputs.Read(cell), _view.Now);
            }

            Publish(i);
        }

        for (var i = 0; i < _limits.Length; i++)
        {
            var (at, definition) = _limits[i];
            var isOver = _counters[at.Counter].State.Count >= at.AtLeast;
            if (isOver != _isOver[i])
            {
                _isOver[i] = isOver;
                Tell(definition, isOver);
            }
        }
    }

    /// <summary>What steps raised in an earlier run stands until a step clears it; all else is told anew by its source, or has ended.</summary>
    private void TakeUp()
    {
        for (var i = 0; i < Machine.Alarms.Count; i++)
        {
            if (Machine.Alarms[i] is { Input: null, Counter: null } definition && _alarms.Find(KeyOf(definition)) is { } alarm)
            {
                alarm.IsRemembered = false;
            }
        }
    }

    /// <summary>A person's reset: latched alarms whose cause is gone are let go, also those that the machine file has no more. It acknowledges nothing.</summary>
    public void ResetLatched()
    {
        for (var i = _alarms.Kept.Count - 1; i >= 0; i--)
        {
            if (_alarms.Kept[i] is { Key.IsOwn: true } alarm && alarm.State.IsLatched())
            {
                _alarms.Reset(alarm.Key);
            }
        }
    }

    /// <summary>One waits for that reset.</summary>
    public bool HasLatched()
    {
        for (var i = 0; i < _alarms.Kept.Count; i++)
        {
            if (_alarms.Kept[i] is { Key.IsOwn: true } alarm && alarm.State.IsLatched())
            {
                return true;
            }
        }

        return false;
    }

    private static AlarmKey KeyOf(OwnAlarmDefinition definition) => new(definition.Number, AlarmSource.Machine);

    private void Tell(OwnAlarmDefinition definition, bool isRaised)
    {
        if (isRaised)
        {
            _alarms.Raise(KeyOf(definition), definition.Priority, definition.Latched, definition.Name);
        }
        else
        {
            _alarms.Clear(KeyOf(definition));
        }
    }

    private void Publish(int counter)
    {
        var note = _notes[counter].Read();
        if (note.Count != _counters[counter].State.Count)
        {
            _notes[counter].Write(new CounterNote { Version = note.Version + 1, Count = _counters[counter].State.Count });
        }
    }

    private Objection? ObjectionTo(MachineCommand command) => command switch
    {
        RaiseAlarmCommand raise => ObjectionTo(raise.Number),
        ClearAlarmCommand clear => ObjectionTo(clear.Number),
        CountCommand { By: < 1 } => new Objection(Refusal.InvalidArgument, -1, "a counter counts upwards: give 1 or more"),
        CountCommand count => ObjectionToCounter(count.Counter),
        ResetCounterCommand reset => ObjectionToCounter(reset.Counter),
        _ => null,
    };

    private Objection? ObjectionTo(int number) => Find(number) switch
    {
        null => new Objection(Refusal.InvalidArgument, -1, $"the machine file has no alarm {number}"),
        { Input: null, Counter: null } => null,
        var alarm => new Objection(Refusal.InvalidArgument, -1, $"alarm {number} ({alarm.Name}) is raised and cleared by its {(alarm.Input is null ? "counter" : "input")} alone"),
    };

    private Objection? ObjectionToCounter(int counter) => counter >= 0 && counter < _counters.Length
        ? null
        : new Objection(Refusal.InvalidArgument, -1, $"the machine file has no such counter; it has {(_counters.Length == 0 ? "none" : Sentences.Names([.. Machine.Counters.Select(each => each.Name)]))}");

    private OwnAlarmDefinition? Find(int number)
    {
        foreach (var alarm in Machine.Alarms)
        {
            if (alarm.Number == number)
            {
                return alarm;
            }
        }

        return null;
    }

    private string Do(MachineCommand command)
    {
        switch (command)
        {
            case RaiseAlarmCommand raise:
                Tell(Find(raise.Number)!, isRaised: true);
                return $"alarm {raise.Number} ({Find(raise.Number)!.Name}) is raised";
            case ClearAlarmCommand clear:
                Tell(Find(clear.Number)!, isRaised: false);
                return $"alarm {clear.Number} ({Find(clear.Number)!.Name}) is cleared";
            case CountCommand count:
                _counters[count.Counter].State.Add(count.By);
                return $"{_counters[count.Counter].State.Definition.Name} is at {_counters[count.Counter].State.Count}";
            case ResetCounterCommand reset:
                var state = _counters[reset.Counter].State;
                var before = state.Count;
                state.Reset();
                return $"{state.Definition.Name} is set back from {before} to 0";
            default:
                throw new ArgumentException($"{command.GetType().Name} is none of these.", nameof(command));
        }
    }
}
