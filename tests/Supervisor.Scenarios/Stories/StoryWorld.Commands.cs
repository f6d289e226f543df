using Supervisor.Machine.Api;
using Supervisor.Records.Commands;

namespace Supervisor.Scenarios.Stories;

/// <content>Commands as clients give them, and what was heard of each.</content>
public sealed partial class StoryWorld
{
    private readonly List<GivenCommand> _open = [];
    private readonly List<GivenCommand> _endedOfLate = [];
    private readonly List<GivenCommand> _orphans = [];
    private readonly GivenCommand?[] _lastGiven;

    /// <summary>Commands whose end was not seen yet.</summary>
    public IReadOnlyList<GivenCommand> Open => _open;

    /// <summary>Commands that were under way when their supervisor ended without a word: what their drives were told goes on until their time-outs.</summary>
    public IReadOnlyList<GivenCommand> Orphans => _orphans;

    /// <summary>Commands whose end was seen within the last seconds.</summary>
    public IReadOnlyList<GivenCommand> EndedOfLate => _endedOfLate;

    /// <summary>A planted bug: no answer ever comes to those who gave commands.</summary>
    public bool SwallowsAnswers { get; set; }

    /// <summary>The newest command about an axis, null when none was given.</summary>
    public GivenCommand? LastGiven(int axis) => _lastGiven[axis];

    /// <summary>Gives a command as a client would.</summary>
    public GivenCommand Give(MachineCommand command, AuthorityGrant? grant) =>
        NoteGiven(new GivenCommand(command, Supervisor!.Coordinator.Control.Submit(command, grant), Queue.Now, AxesOf(command)));

    /// <summary>Presses a jog button as a client would.</summary>
    public GivenCommand Jog(JogCommand command, AuthorityGrant? grant)
    {
        var press = Supervisor!.Coordinator.Control.Jog(command, grant);
        return NoteGiven(new GivenCommand(command, press.Ticket, Queue.Now, AxesOf(command)) { Press = press });
    }

    private GivenCommand NoteGiven(GivenCommand given)
    {
        _open.Add(given);
        foreach (var axis in given.Axes.Where(axis => axis >= 0 && axis < _lastGiven.Length))
        {
            _lastGiven[axis] = given;
        }

        Tally.Add($"command {given.Command.GetType().Name.Replace("Command", "", StringComparison.Ordinal).ToLowerInvariant()}");
        Diary.Note(Queue.Now, "given:", given);
        foreach (var checker in Checkers)
        {
            checker.OnCommand(given);
        }

        return given;
    }

    /// <summary>The command of an id; null when nobody gave it, or its end was seen long ago.</summary>
    private GivenCommand? GivenAs(ulong id) => _open.Find(open => open.Ticket.Id == id) ?? _endedOfLate.Find(ended => ended.Ticket.Id == id);

    /// <summary>Their supervisor is gone: nobody answers what is open.</summary>
    private void Orphan()
    {
        _orphans.Clear();
        _orphans.AddRange(_open);
        _orphans.ForEach(given => given.EndedAt = Queue.Now);
        _open.Clear();
    }

    private void LookAtCommands()
    {
        while (_endedOfLate.Count > 0 && Queue.Now - _endedOfLate[0].EndedAt > OfLate)
        {
            _endedOfLate.RemoveAt(0);
        }

        for (var i = 0; i < _open.Count; i++)
        {
            var given = _open[i];
            if (given.Ticket.Completion.IsCompleted && !SwallowsAnswers)
            {
                _open.RemoveAt(i--);
                given.Answer = given.Ticket.Completion.Result;
                given.EndedAt = Queue.Now;
                _endedOfLate.Add(given);
                Tally.Add($"outcome {given.Answer.Outcome}{(given.Answer.Refusal == Refusal.None ? "" : $" {given.Answer.Refusal}")}");
                Diary.Note(Queue.Now, "ended:", given.Answer);
                foreach (var checker in Checkers)
                {
                    checker.OnEnd(given);
                }
            }
        }
    }

    private int[] AxesOf(MachineCommand command)
    {
        IReadOnlyList<int> named = command switch
        {
            EnableCommand enable => enable.Axes,
            DisableCommand disable => disable.Axes,
            HomeCommand home => home.Axes.Count > 0 ? home.Axes : [.. Enumerable.Range(0, Machine.Axes.Count).Where(axis => Machine.Axes[axis].Homing is not null)],
            MoveCommand move => [.. move.Targets.Select(target => target.Axis)],
            ContactCommand contact => [contact.Axis],
            JogCommand jog => [jog.Axis],
            ProveBrakeCommand prove => prove.Axes,
            StopCommand stop => stop.Axes,
            HaltCommand halt => halt.Axes,
            ReleaseCommand release => release.Axes,
            ResetCommand reset => reset.Axes,
            SetOutputCommand output => [output.Axis],
            _ => [],
        };
        return named.Count > 0 ? [.. named] : [.. Enumerable.Range(0, Machine.Axes.Count)];
    }
}
