using Supervisor.Machine.Api;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Watching;
using Supervisor.Machine.Zones;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Commands;

/// <summary>Commands in hand: gives their parts to the ports, collects what became of them, and ends each exactly once.</summary>
internal sealed partial class CommandDesk
{
    private readonly MachineView _view;
    private readonly CommandPlanner _planner;
    private readonly Interlocks.InterlockDesk _interlocks;
    private readonly CommandAnswers _answers;
    private readonly ZoneDesk _zones;
    private readonly List<RunningCommand> _running = [];
    private readonly List<CommandPart> _plan = [];
    private readonly RunningCommand?[] _inHand;
    private readonly int[] _room;

    public CommandDesk(MachineView view, CommandPlanner planner, Interlocks.InterlockDesk interlocks, CommandAnswers answers, ZoneDesk zones)
    {
        _view = view;
        _planner = planner;
        _interlocks = interlocks;
        _answers = answers;
        _zones = zones;
        _inHand = new RunningCommand?[view.Axes.Length];
        _room = new int[view.PortCount];
    }

    /// <summary>Told of every stop that the coordinator itself asked for: axis and the count it made.</summary>
    public Action<int, int>? StoppedByItself { get; set; }

    /// <summary>Told of a reset that names no axis: a person's.</summary>
    public Action? ResetAll { get; set; }

    /// <summary>Told of every brake that held: axis, how far it moved, and when.</summary>
    public Action<int, double, TimeSpan>? Proven { get; set; }

    /// <summary>Told of every axis that a command was given to: axis, command id and what it asks of this axis.</summary>
    public Action<int, ulong, AxisCommandKind>? Given { get; set; }

    /// <summary>Refuses a command.</summary>
    public void Refuse(PendingCommand pending, Objection objection) => _answers.Refuse(pending, objection);

    /// <summary>Begins a command, or refuses it.</summary>
    public void Begin(PendingCommand pending)
    {
        if (pending.Verdict is { } verdict)
        {
            _answers.End(pending, verdict);
            return;
        }

        if (ObjectionTo(pending) is { } objection)
        {
            _answers.Refuse(pending, objection);
            return;
        }

        if (pending is { Command: ResetCommand, Axes.Length: 0 })
        {
            _interlocks.ResetByCommand(pending.Holder, _view.Now);
            ResetAll?.Invoke();
        }

        if (pending.Command is ResetCommand)
        {
            foreach (var axis in pending.Axes.Where(axis => !_plan.Exists(part => part.Axis == axis)))
            {
                Given?.Invoke(axis, pending.Id, AxisCommandKind.Reset);
            }
        }

        if (_plan.Count == 0)
        {
            pending.Accept();
            _answers.End(pending, new CommandAnswer(pending.Id, Outcome.Done, Refusal.None, FaultCode.None, -1, "done", null));
            return;
        }

        var running = new RunningCommand(pending, [.. _plan]) { Step = _plan[0].Step };
        _running.Add(running);
        GiveStep(running);
    }

    /// <summary>Notes what an axis reported.</summary>
    public void Note(in AxisReport report)
    {
        var running = Find(report.CommandId);
        if (running?.PartOf(report.Axis) is not { IsInHand: true, WatchUntil: null } part)
        {
            // Of a command that has been given up with its port.
            return;
        }

        if (report.Outcome == Outcome.None)
        {
            part.Stage = PartStage.Taken;
            running.HasBegun = true;
            return;
        }

        EndPart(running, part);
        if (report.Outcome != Outcome.Done)
        {
            running.Cause ??= _answers.Cause(running, report);
        }
        else if (part.Command.Kind == AxisCommandKind.Contact)
        {
            running.Value = report.Value;
        }
        else if (part.Command.Kind == AxisCommandKind.ProveTimeout)
        {
            running.Value = report.Value;
            if (_answers.ProvenTimeout(report) is { } proven)
            {
                running.AddResult(proven);
            }
        }
        else if (part.Command.Kind == AxisCommandKind.ProveBrake)
        {
            running.Value = Math.Max(running.Value ?? 0, report.Value);
            running.AddResult(_answers.Proven(report));
            Proven?.Invoke(report.Axis, report.Value, report.At);
        }
        else if (part.Command.Kind == AxisCommandKind.LoadSupported)
        {
            running.AddResult(_answers.LetGo(report));
        }
    }

    /// <summary>Who gave a command that is in hand; empty when there is none.</summary>
    public string HolderOf(ulong id) => Find(id)?.Pending.Holder ?? "";

    /// <summary>Tells the zones where the axes have come to; after the ports' reports and snapshots were taken in.</summary>
    public void FollowZones() => _zones.Follow(_inHand);

    /// <summary>Moves every command on: acceptance, next steps, stopping what is left of one that has a cause, the end.</summary>
    public void Step()
    {
        for (var i = _running.Count - 1; i >= 0; i--)
        {
            Advance(_running[i]);
        }

        _running.RemoveAll(static running => running.Pending.Answer is not null);
    }

    /// <summary>Ends everything that is in hand, without waiting for the ports.</summary>
    public void GiveUp(Refusal reason, string message)
    {
        foreach (var running in _running)
        {
            if (running.Pending.Answer is null)
            {
                var cause = running.Cause ?? new CommandCause(Outcome.Replaced, reason, FaultCode.None, -1, message);
                _answers.End(running, cause);
            }
        }

        _running.Clear();
        Array.Clear(_inHand);
    }

    private Objection? ObjectionTo(PendingCommand pending)
    {
        _plan.Clear();
        if (CommandAnswers.Abandoned(pending) is { } abandoned)
        {
            return abandoned;
        }

        if (_planner.Plan(pending, _inHand, _plan) is { } objection)
        {
            return objection;
        }

        foreach (var part in _plan)
        {
            // An output moves nothing, a release is judged by its axis, and what is waited for is on its way: no stop takes them back.
            var isStoppable = part.Command.Kind is not (AxisCommandKind.SetOutput or AxisCommandKind.Release) && part.WatchUntil is null;
            if (isStoppable && _planner.NotStopped(part.Axis, part.Command.StopEpoch) is { } stopped)
            {
                return stopped;
            }
        }

        var first = _plan.Count == 0 ? 0 : _plan[0].Step;
        return _zones.Judge(_plan, first, _inHand) ?? Room(_plan, first);
    }

    /// <summary>Every port must have room for all the parts of a step, so that none is given when one cannot be.</summary>
    private Objection? Room(IReadOnlyList<CommandPart> parts, int step)
    {
        Array.Clear(_room);
        for (var i = 0; i < parts.Count; i++)
        {
            if (parts[i].Step == step && parts[i].WatchUntil is null)
            {
                _room[_view.Axes[parts[i].Axis].Port]++;
            }
        }

        for (var port = 0; port < _room.Length; port++)
        {
            if (_room[port] > _view.Board.Ports[port].Mailbox.Free)
            {
                return new Objection(Refusal.MailboxFull, -1,
                    $"the mailbox of port {_view.Board.Machine.Ports[port].Name} is full: wait for earlier commands to end, then try again");
            }
        }

        return null;
    }

    private void GiveStep(RunningCommand running)
    {
        foreach (var part in running.Parts)
        {
            if (part.Step != running.Step)
            {
                continue;
            }

            if (part.WatchUntil is not null)
            {
                part.Stage = PartStage.Taken;
                continue;
            }

            // Room was looked for: only this thread fills the mailbox.
            _view.Board.Ports[_view.Axes[part.Axis].Port].Mailbox.TryWrite(part.Command);
            part.Stage = PartStage.Sent;
            _zones.Take(part);
            if (part.Command.Kind is not (AxisCommandKind.SetOutput or AxisCommandKind.Release))
            {
                _inHand[part.Axis] = running;
            }

            Given?.Invoke(part.Axis, running.Id, part.Command.Kind);
        }
    }

    private void EndPart(RunningCommand running, CommandPart part)
    {
        part.Stage = PartStage.Ended;
        if (_inHand[part.Axis] == running)
        {
            _inHand[part.Axis] = null;
        }
    }

    private RunningCommand? Find(ulong id)
    {
        foreach (var running in _running)
        {
            if (running.Id == id)
            {
                return running;
            }
        }

        return null;
    }

    /// <summary>True for what moves an axis, or pushes against its brake.</summary>
    public static bool IsMotion(AxisCommandKind kind) =>
        kind is AxisCommandKind.Move or AxisCommandKind.MoveBy or AxisCommandKind.MoveFromHere or AxisCommandKind.Run or AxisCommandKind.Contact
            or AxisCommandKind.Home or AxisCommandKind.Jog or AxisCommandKind.ProveBrake or AxisCommandKind.ProveTimeout;
}
