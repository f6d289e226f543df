using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Machine.Brakes;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Outputs;
using Supervisor.Machine.OwnAlarms;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Recovery;
using Supervisor.Machine.Signals;
using Supervisor.Machine.Stops;
using Supervisor.Machine.Timeouts;
using Supervisor.Machine.Watching;
using Supervisor.Machine.Zones;
using Supervisor.Records.Commands;
using Supervisor.Runtime;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;

namespace Supervisor.Machine;

/// <summary>
/// The one place where the machine is commanded as a whole: authority, commands on several axes, interlocks and their resets, groups,
/// recovery, shut-down. A step machine without thread, clock or waiting; it allocates nothing while nothing happens.
/// </summary>
/// <remarks>It is no safety device: interlocks are observed here, what protects people is wired.</remarks>
public sealed class Coordinator
{
    private readonly CommandInbox _inbox = new();
    private readonly MachineView _view;
    private readonly FileInputs _files;
    private readonly InterlockDesk _interlocks;
    private readonly CommandDesk _commands;
    private readonly StopWatch _stops;
    private readonly StopTrend _stopTrend;
    private readonly TimeoutDesk _timeouts;
    private readonly RecoveryDesk _recovery;
    private readonly GroupWatch _groups;
    private readonly PortWatch _ports;
    private readonly ReturnWatch _returns;
    private readonly ShutDownWatch _shutDown;
    private readonly StatusBoard _status;
    private readonly BrakeDesk _brakes;
    private readonly OutputDesk _outputs;
    private readonly PowerDesk _power;
    private readonly PowerCommands _powerCommands;
    private readonly AliveOutput _alive;
    private readonly AlarmDesk _alarms;
    private readonly AlarmEnds _alarmEnds;
    private readonly OwnAlarmDesk _ownAlarms;
    private readonly SignalDesk _signals;
    private readonly AlarmCommands _alarmCommands;

    /// <param name="board">What is shared with the ports.</param>
    /// <param name="journal">Where it tells what happened; called on the coordinator's thread only.</param>
    /// <param name="readInputFile">Reads <c>file:PATH</c> inputs; null: <see cref="InputFile.Read"/>.</param>
    /// <param name="slow">Axes that go slowly since an earlier run, in the machine file's order; null: none.</param>
    /// <param name="counts">What the counters were at in an earlier run, in the machine file's order; null: 0.</param>
    /// <param name="alarms">Alarms that an earlier run left, by the clock of this boot; null: none.</param>
    public Coordinator(
        MachineBoard board, IJournal journal, InputFileReader? readInputFile = null, IReadOnlyList<ReducedSpeedNote>? slow = null, IReadOnlyList<long>? counts = null,
        IReadOnlyList<AlarmStatus>? alarms = null)
    {
        ArgumentNullException.ThrowIfNull(board);
        ArgumentNullException.ThrowIfNull(journal);
        Board = board;
        _alarms = new AlarmDesk(journal);
        _alarms.Restore(alarms ?? []);
        journal = new AlarmJournal(board.Machine, journal, _alarms);
        _view = new MachineView(board);
        _files = new FileInputs(board.Inputs, readInputFile ?? InputFile.Read);
        _interlocks = new InterlockDesk(board, journal);
        _brakes = new BrakeDesk(_view, journal);
        var stoppedBy = new StopNames(board.Machine.Axes.Count);
        _power = new PowerDesk(_view, _interlocks, stoppedBy, journal);
        var hardware = new HardwareStops(_view, _interlocks);
        var gate = new AxisGate(_view, _interlocks, stoppedBy, _brakes, hardware, _power);
        _timeouts = new TimeoutDesk(_view, journal);
        var answers = new CommandAnswers(_view, _interlocks, gate, hardware, _timeouts, journal);
        var modes = new ModeDesk(_view);
        var reduced = new ReducedSpeeds(_view, slow ?? new ReducedSpeedNote[board.Machine.Axes.Count]);
        SlowAxes = reduced.Notes;
        var zones = new ZoneDesk(_view);
        var planner = new CommandPlanner(_view, gate, _interlocks, modes, reduced, _power);
        _commands = new CommandDesk(_view, planner, _interlocks, answers, zones);
        _commands.ResetAll = ResetAll;
        _timeouts.HolderOf = _commands.HolderOf;
        _outputs = new OutputDesk(_view, answers, modes, journal);
        _powerCommands = new PowerCommands(_power, answers, modes);
        _alive = new AliveOutput(_view, journal);
        _commands.Proven = _brakes.Passed;
        _stops = new StopWatch(_view, answers, stoppedBy);
        _recovery = new RecoveryDesk(_view, gate, _interlocks, _commands, _inbox, journal, modes, reduced);
        modes.RecoveryForbidden = _recovery.CancelAll;
        _groups = new GroupWatch(_view);
        _stopTrend = new StopTrend(_view, journal);
        _ports = new PortWatch(board, _view, hardware, journal);
        _returns = new ReturnWatch(_view, journal);
        _shutDown = new ShutDownWatch(_view, LongestShutDown());
        _shutDown.PutOutputs = PutOutputs;
        _ownAlarms = new OwnAlarmDesk(_view, _alarms, answers, counts ?? new long[board.Machine.Counters.Count]);
        planner.HasLatchedAlarm = _ownAlarms.HasLatched;
        _signals = new SignalDesk(_view, _interlocks, modes, _alarms, answers, journal);
        _alarmEnds = new AlarmEnds(_alarms, _view, _interlocks, _power, _alive);
        _alarmCommands = new AlarmCommands(_alarms, board.Machine, answers);
        _status = new StatusBoard(board, modes, reduced, hardware, zones, _power, _alive, _signals);
        Control = new MachineControl(board, _inbox, _status, () => _alarms.List) { Counters = _ownAlarms.Counters };
    }

    /// <summary>What is shared with the ports.</summary>
    public MachineBoard Board { get; }

    /// <summary>The door for clients and routines.</summary>
    public MachineControl Control { get; }

    /// <summary>Axes that go slowly since they did not follow, written when that changes; version 0 while it is as remembered. Any thread.</summary>
    public IReadOnlyList<SnapshotCell<ReducedSpeedNote>> SlowAxes { get; }

    /// <summary>Counters of the machine file, written when they change; version 0 while one is as remembered. Any thread.</summary>
    public IReadOnlyList<SnapshotCell<CounterNote>> Counters => _ownAlarms.Counters;

    /// <summary>How far a shut-down is. Any thread.</summary>
    public ShutDownState ShutDown => _shutDown.State;

    /// <summary>One step: takes in what happened, acts on it, publishes the result. One thread; <paramref name="now"/> never goes back.</summary>
    public void Step(TimeSpan now)
    {
        _alarms.Begin(now);
        _files.Step(now);
        _interlocks.Step(now);
        _ports.DrainReports(_commands);
        _view.Refresh(now);
        _commands.FollowZones();
        _groups.Step();
        _power.Step();
        _ports.TellPorts();
        _ports.DrainFaults(_recovery, _brakes);
        _returns.Step();
        _brakes.Step();
        _ports.DrainStops(_stopTrend);
        _timeouts.Drain();
        TakeStops();
        TakeCommands();

        // Commands end after new ones were taken: whoever waited for one finds, with the next step, snapshots that show its end.
        _commands.Step();
        _stops.Step();
        _outputs.Step();
        _powerCommands.Step();
        _alive.Step();
        _ownAlarms.Step();
        if (!_inbox.IsShuttingDown)
        {
            _recovery.Step();
        }
        else
        {
            ContinueShutDown();
        }

        _alarmEnds.Step();
        _signals.Step();
        _alarms.End();
        _alarmCommands.End();
        _status.Publish(_interlocks, _view);
    }

    /// <summary>Begins the end: commands are refused from now on, all axes are stopped in category 1. Any thread; the first call counts.</summary>
    public void BeginShutDown(TimeSpan now)
    {
        _inbox.IsShuttingDown = true;
        _shutDown.Begin(now);
    }

    /// <summary>Ends every command that is left and refuses all to come. Call once, when nobody steps any more.</summary>
    public void Close()
    {
        Board.Latch.Trip(StopCauses.ShutDown);
        Control.Close();
        GiveUpCommands();
    }

    private void TakeStops()
    {
        for (var stop = _inbox.TakeStops(); stop is not null; stop = stop.NextStop)
        {
            _stops.Begin(stop);
        }
    }

    private void TakeCommands()
    {
        while (_inbox.TryTake(out var command))
        {
            if (_inbox.IsShuttingDown)
            {
                _commands.Refuse(command, new Objection(Refusal.ShuttingDown, -1, Sentences.ShuttingDown));
            }
            else
            {
                Begin(command);
            }
        }
    }

    private void Begin(PendingCommand pending)
    {
        switch (pending.Command)
        {
            case SetOutputCommand set when _outputs.IsOurs(set):
                _outputs.Begin(pending, set);
                break;
            case AlarmCommand alarm:
                _alarmCommands.Begin(pending, alarm);
                break;
            case SwitchPowerCommand power:
                _powerCommands.Begin(pending, power);
                break;
            case var own when OwnAlarmDesk.IsOurs(own):
                _ownAlarms.Begin(pending);
                break;
            case var signal when SignalDesk.IsOurs(signal):
                _signals.Begin(pending);
                break;
            default:
                _commands.Begin(pending);
                break;
        }
    }

    /// <summary>The last that is written before the ports end: outputs as the file wants them without the daemon, the power off.</summary>
    private bool PutOutputs(bool isFirst)
    {
        if (isFirst)
        {
            _outputs.End();
            _power.End();
            _signals.End();
        }

        return _outputs.IsConfirmed() && _power.IsConfirmed && _signals.IsConfirmed();
    }

    /// <summary>A person's reset that names no axis.</summary>
    private void ResetAll()
    {
        _power.Reset();
        _ownAlarms.ResetLatched();
    }

    private void ContinueShutDown()
    {
        _recovery.CancelAll("the supervisor is shutting down");
        if (_shutDown.Step())
        {
            GiveUpCommands();
        }
    }

    private void GiveUpCommands()
    {
        _commands.GiveUp(Refusal.ShuttingDown, Sentences.ShuttingDown);
        _outputs.GiveUp(Sentences.ShuttingDown);
        _powerCommands.GiveUp(Sentences.ShuttingDown);
        _stops.GiveUp("the supervisor has ended before the stop was confirmed");
    }

    /// <summary>The slowest axis's stop and brake.</summary>
    private TimeSpan LongestShutDown()
    {
        var longest = TimeSpan.Zero;
        for (var axis = 0; axis < _view.Axes.Length; axis++)
        {
            var needed = _stops.LongestStop(axis) + (_view.Axes[axis].Brake?.Close ?? TimeSpan.Zero);
            longest = needed > longest ? needed : longest;
        }

        return longest;
    }
}
