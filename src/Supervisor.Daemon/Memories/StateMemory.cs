using Supervisor.Bus;
using Supervisor.Daemon.Hosting;
using Supervisor.Machine;
using Supervisor.Machine.Api;
using Supervisor.Machine.Recovery;
using Supervisor.Runtime;

namespace Supervisor.Daemon.Memories;

/// <summary>What the supervisor keeps over its own end in small files of the state folder, beside the history: each read at the start, and written by a thread of its own.</summary>
internal sealed partial class StateMemory
{
    private readonly ILogger _logger;
    private readonly ILoggerFactory _loggers;
    private readonly IMonotonicClock _clock;
    private readonly ReferenceKeeper _references;
    private readonly BrakeProofKeeper _proofs;
    private readonly ReducedSpeedFile _speedFile;
    private readonly CounterFile _counterFile;
    private readonly AlarmFile _alarmFile;
    private ReducedSpeedKeeper? _speeds;
    private CounterKeeper? _counters;

    public StateMemory(SupervisionPlan plan, IMonotonicClock clock, ILoggerFactory loggers)
    {
        _loggers = loggers;
        _clock = clock;
        _logger = loggers.CreateLogger<StateMemory>();
        var file = new ReferenceFile(plan.Machine, plan.StateFolder, WallClock.BootId);
        var remembered = file.Read(out var problem);
        if (problem is not null)
        {
            LogReferences(problem);
        }

        Loads = new UnfinishedLoads(plan.Machine, plan.StateFolder, loggers.CreateLogger<UnfinishedLoads>());
        var proofs = new BrakeProofFile(plan.Machine, plan.StateFolder);
        Board = new MachineBoard(plan.Machine, remembered, Loads.Remembered, proofs.ReadHeldLoads());
        _references = new ReferenceKeeper(Board, file, clock, loggers.CreateLogger<ReferenceKeeper>());
        _references.Start();
        _proofs = new BrakeProofKeeper(Board, proofs, WallClock.Read, WallClock.BootId, clock, loggers.CreateLogger<BrakeProofKeeper>());
        if (_proofs.Problem is { } unread)
        {
            LogBrakeProofs(unread);
        }

        _proofs.Start();
        Timeouts = new TimeoutProofs(
            Board, new TimeoutProofFile(plan.Machine, plan.StateFolder), WallClock.Read, clock, loggers.CreateLogger<TimeoutProofs>());
        if (Timeouts.Problem is { } damaged)
        {
            LogTimeoutProofs(damaged);
        }

        Timeouts.Start();
        _speedFile = new ReducedSpeedFile(plan.Machine, plan.StateFolder);
        SlowAxes = _speedFile.Read(out problem);
        if (problem is not null)
        {
            LogReducedSpeeds(problem);
        }

        _counterFile = new CounterFile(plan.Machine, plan.StateFolder);
        Counts = _counterFile.Read(out problem);
        if (problem is not null)
        {
            LogCounters(problem);
        }

        _alarmFile = new AlarmFile(plan.Machine, plan.StateFolder);
        LeftAlarms = _alarmFile.Read(WallClock.Read(), WallClock.BootId, out problem);
        if (problem is not null)
        {
            LogAlarms(problem);
        }
    }

    /// <summary>The board, with what is remembered of the drives.</summary>
    public MachineBoard Board { get; }

    /// <summary>Loads of parameters that were not seen to end.</summary>
    public UnfinishedLoads Loads { get; }

    /// <summary>Proofs of the drives' communication time-outs.</summary>
    public TimeoutProofs Timeouts { get; }

    /// <summary>Axes that go slowly since an earlier run.</summary>
    public IReadOnlyList<ReducedSpeedNote> SlowAxes { get; }

    /// <summary>What the machine file's counters were at in an earlier run.</summary>
    public IReadOnlyList<long> Counts { get; }

    /// <summary>Alarms that an earlier run left.</summary>
    public IReadOnlyList<AlarmStatus> LeftAlarms { get; }

    /// <summary>Keeps the alarms; once <see cref="Follow"/> was called.</summary>
    public AlarmKeeper? Alarms { get; private set; }

    /// <summary>Keeps from now on what the coordinator tells. Once.</summary>
    public void Follow(Coordinator coordinator)
    {
        _speeds = new ReducedSpeedKeeper(coordinator.SlowAxes, SlowAxes, _speedFile, _clock, _loggers.CreateLogger<ReducedSpeedKeeper>());
        _speeds.Start();
        _counters = new CounterKeeper(coordinator.Counters, _counterFile, _clock, _loggers.CreateLogger<CounterKeeper>());
        _counters.Start();
        Alarms = new AlarmKeeper(() => coordinator.Control.Alarms, _alarmFile, WallClock.Read, WallClock.BootId, _clock, _loggers.CreateLogger<AlarmKeeper>());
        Alarms.Start();
    }

    /// <summary>Writes what is left and ends.</summary>
    /// <returns>Names of the threads that had not ended within <paramref name="patience"/> each.</returns>
    public IEnumerable<string> Stop(TimeSpan patience)
    {
        if (!(Alarms?.Stop(patience) ?? true))
        {
            yield return "alarms";
        }

        if (!(_speeds?.Stop(patience) ?? true))
        {
            yield return "reduced speeds";
        }

        if (!(_counters?.Stop(patience) ?? true))
        {
            yield return "counters";
        }

        if (!Timeouts.Stop(patience))
        {
            yield return "time-out proofs";
        }

        if (!_proofs.Stop(patience))
        {
            yield return "brake proofs";
        }

        if (!_references.Stop(patience))
        {
            yield return "references";
        }
    }

    [LoggerMessage(1010, LogLevel.Error, "{Problem}", EventName = "ReferencesNotRead")]
    private partial void LogReferences(string problem);

    [LoggerMessage(1017, LogLevel.Error, "{Problem}", EventName = "BrakeProofsNotRead")]
    private partial void LogBrakeProofs(string problem);

    [LoggerMessage(1019, LogLevel.Error, "{Problem}", EventName = "TimeoutProofsNotRead")]
    private partial void LogTimeoutProofs(string problem);

    [LoggerMessage(1041, LogLevel.Error, "{Problem}", EventName = "CountersNotRead")]
    private partial void LogCounters(string problem);

    [LoggerMessage(1045, LogLevel.Error, "{Problem}", EventName = "AlarmsNotRead")]
    private partial void LogAlarms(string problem);

    [LoggerMessage(1018, LogLevel.Error, "{Problem}", EventName = "ReducedSpeedsNotRead")]
    private partial void LogReducedSpeeds(string problem);
}
