using Supervisor.Bus;
using Supervisor.Daemon.Memories;
using Supervisor.Daemon.Messages;
using Supervisor.Daemon.Services;
using Supervisor.History;
using Supervisor.History.Entries;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Machine;
using Supervisor.Machine.Api;
using Supervisor.Runtime.Gpio;
using Supervisor.Runtime.Ports;

namespace Supervisor.Daemon.Hosting;

/// <summary>
/// The one lifecycle: brings the stages up in the order of <see cref="StartAsync"/> and down in the order of <see cref="StopAsync"/>.
/// It follows no host: an open stream must never stand between a signal and the stop of the axes.
/// </summary>
internal sealed partial class Supervision : IAsyncDisposable
{
    // Longer than any stop the coordinator itself waits for; only a coordinator that no longer runs gets here.
    private static readonly TimeSpan LongestStop = TimeSpan.FromSeconds(30);
    private static readonly TimeSpan LookInterval = TimeSpan.FromMilliseconds(10);
    private static readonly TimeSpan CoordinatorPatience = TimeSpan.FromSeconds(2);
    private static readonly TimeSpan HistoryPatience = TimeSpan.FromSeconds(5);
    private static readonly TimeSpan MessagesPatience = TimeSpan.FromSeconds(3);

    private readonly SupervisionPlan _plan;
    private readonly ServiceWatchdog _watchdog;
    private readonly Serilog.ILogger _serilog;
    private readonly ILoggerFactory _loggers;
    private readonly ILogger<Supervision> _logger;
    private readonly IMonotonicClock _clock;
    private readonly TaskCompletionSource<string> _broken = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private readonly List<PortThread> _ports = [];
    private readonly List<GpioThread> _gpio = [];
    private readonly List<GpioStepper> _gpioSteppers = [];
    private readonly RecordingEvents _recordingEvents = new();
    private HistoryStore? _history;
    private Coordinator? _coordinator;
    private CoordinatorThread? _coordinatorThread;
    private ApiHost? _api;
    private RecorderPlan? _traces;
    private RecorderThread? _recorder;
    private Messenger? _messenger;
    private PulseThread? _pulse;
    private StateMemory? _memories;
    private BlackBox? _blackBox;
    private UnhandledExceptionEventHandler? _lastHandler;
    private bool _isHistoryGood = true;
    private bool _isStopped;

    private Supervision(SupervisionPlan plan, ServiceWatchdog watchdog, Serilog.ILogger serilog, ILoggerFactory loggers, IMonotonicClock clock)
    {
        _clock = clock;
        _plan = plan;
        _watchdog = watchdog;
        _serilog = serilog;
        _loggers = loggers;
        _logger = loggers.CreateLogger<Supervision>();
    }

    /// <summary>The machine's door.</summary>
    public MachineControl Control => _coordinator!.Control;

    /// <summary>What is recorded.</summary>
    public HistoryStore History => _history!;

    /// <summary>Ends when a thread broke, with what happened; the axes are being stopped then, and the process must end with an error.</summary>
    public Task<string> Broken => _broken.Task;

    /// <summary>Brings everything up: history, board, ports, coordinator, API. What was up is brought down again when a stage fails.</summary>
    /// <param name="plan">What is supervised.</param>
    /// <param name="watchdog">Fed while every thread lives.</param>
    /// <param name="serilog">The log.</param>
    /// <param name="loggers">The same, for the components.</param>
    /// <param name="clock">CLOCK_MONOTONIC, wrapped by whoever measures how late threads wake; null: the system's.</param>
    /// <exception cref="HistoryException">The history can't be used; the message says what to do.</exception>
    /// <exception cref="IOException">The socket can't be made.</exception>
    public static async Task<Supervision> StartAsync(
        SupervisionPlan plan, ServiceWatchdog watchdog, Serilog.ILogger serilog, ILoggerFactory loggers, IMonotonicClock? clock = null)
    {
        ArgumentNullException.ThrowIfNull(plan);
        ArgumentNullException.ThrowIfNull(loggers);
        RealTimePriority.FavourProcess();
        var supervision = new Supervision(plan, watchdog, serilog, loggers, clock ?? MonotonicClock.System);
        try
        {
            supervision.StartHistory();
            supervision.StartBlackBox();
            var memories = supervision._memories = new StateMemory(plan, supervision._clock, loggers);
            var board = memories.Board;
            supervision._coordinator = new Coordinator(
                board, new Journal(plan.Machine, supervision._history!, supervision._recordingEvents, loggers.CreateLogger<Journal>()) { Proofs = memories.Timeouts },
                slow: memories.SlowAxes, counts: memories.Counts, alarms: memories.LeftAlarms);
            memories.Follow(supervision._coordinator);
            supervision.StartGpio(board);
            supervision.StartPorts(board);
            supervision.StartRecorder(board);
            supervision.StartCoordinator();
            supervision.StartMessages();
            await supervision.StartApiAsync(board);
            supervision.LogUp(plan.Machine.Name, plan.Machine.Axes.Count, plan.Machine.Ports.Count, plan.Claim.Path);
            return supervision;
        }
        catch (Exception exception)
        {
            await supervision.StopAsync($"start failed: {exception.Message}");
            throw;
        }
    }

    /// <summary>
    /// Brings everything down: commands refused, axes stopped and that confirmed, streams ended, ports joined, history flushed. Every stage
    /// is run whatever became of the one before.
    /// </summary>
    /// <param name="reason">Written into the history.</param>
    public async Task StopAsync(string reason)
    {
        if (_isStopped)
        {
            return;
        }

        _isStopped = true;
        LogDown(reason);
        await StageAsync("axes", StopAxesAsync);
        await StageAsync("streams", async () =>
        {
            _pulse?.Dispose();
            if (_api is not null)
            {
                await _api.StopAsync();
                await _api.DisposeAsync();
            }
        });
        await StageAsync("coordinator", () => JoinAsync("coordinator", () => _coordinatorThread?.Stop(CoordinatorPatience) ?? true));
        foreach (var port in _ports)
        {
            await StageAsync("ports", () => JoinAsync("a port", port.Stop));
        }

        foreach (var chip in _gpio)
        {
            await StageAsync("gpio", () => JoinAsync("a GPIO chip", chip.Stop));
        }

        await StageAsync("recorder", () => JoinAsync("recorder", () => _recorder?.Stop(HistoryPatience) ?? true));
        await StageAsync("memories", () => Task.Run(() => (_memories?.Stop(HistoryPatience) ?? []).ToList().ForEach(LogNotJoined)));
        await StageAsync("messages", () => JoinAsync("messages", () => _messenger?.Stop(MessagesPatience) ?? true));
        await StageAsync("history", () =>
        {
            _history?.Append(new EndRecord(_clock.Now, reason));
            return JoinAsync("history", () => _history?.Stop(HistoryPatience) ?? true);
        });
        await StageAsync("last words", () =>
        {
            AppDomain.CurrentDomain.UnhandledException -= _lastHandler;
            _blackBox?.Dispose();
            return Task.CompletedTask;
        });
        await StageAsync("socket", () =>
        {
            _plan.Claim.Dispose();
            return Task.CompletedTask;
        });
        LogEnded();
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync() => await StopAsync("ended by the program");

    private async Task StopAxesAsync()
    {
        if (_coordinatorThread is null)
        {
            return;
        }

        _coordinator!.BeginShutDown(_clock.Now);
        var until = _clock.Now + LongestStop;
        while (_coordinator.ShutDown is { IsStopped: false, IsOverdue: false } && _clock.Now < until)
        {
            await Task.Delay(LookInterval);
        }

        if (_coordinator.ShutDown.IsStopped)
        {
            LogStopped();
        }
        else
        {
            LogNotStopped(string.Join(", ", _coordinator.ShutDown.NotStopped));
        }

        foreach (var held in _coordinator.ShutDown.LeftHeld)
        {
            LogLeftHeld(held);
            _history?.Append(new NoticeRecord(_clock.Now, NoticeKind.LoadLeftHeld, 0, $"{char.ToUpperInvariant(held[0])}{held[1..]}."));
        }
    }

    private async Task JoinAsync(string what, Func<bool> join)
    {
        if (!await Task.Run(join))
        {
            LogNotJoined(what);
        }
    }

    private async Task StageAsync(string stage, Func<Task> run)
    {
        try
        {
            await run();
        }
#pragma warning disable CA1031 // The stages after this one must run whatever it was.
        catch (Exception exception)
#pragma warning restore CA1031
        {
            LogStageFailed(stage, exception);
        }
    }
}
