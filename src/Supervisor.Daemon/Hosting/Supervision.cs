using Supervisor.Bus;
using Supervisor.Bus.Gpio;
using Supervisor.Daemon.Memories;
using Supervisor.Daemon.Messages;
using Supervisor.Daemon.Services;
using Supervisor.History;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Machine;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime;
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

    private void StartHistory()
    {
        _history = HistoryStore.Open(new HistoryOptions
        {
            Path = Path.Combine(_plan.StateFolder, "history.db"),
            BootId = WallClock.BootId,
            Clock = WallClock.Read,
            BytesPerDay = _plan.Machine.History.BytesPerDay,
            MaximumPerKind = _plan.Machine.History.RecordsPerKind,
            Pause = pause => _clock.WaitUntil(_clock.Now + pause),
            Incidents = new IncidentRules
            {
                Window = _plan.Machine.History.IncidentWindow,
                Groups = _plan.Machine.Groups.SelectMany(group => group.Axes, (group, axis) => (_plan.Machine.Axes[axis].Name, group.Name)).ToDictionary(),
            },
            RecordingBytes = _plan.Machine.History.Recordings.KeepBytes,
            Channels = [.. _plan.Machine.Messages.Select(channel => channel.Name)],
        });
        _history.Append(new StartRecord(_clock.Now, ProgramVersion.Text, _plan.Machine.Name, _plan.FileHash));
    }

    private void StartBlackBox()
    {
        _blackBox = BlackBox.Open(Path.Combine(_plan.StateFolder, "last-words"), out var lastWords, out var problem);
        if (problem.Length > 0)
        {
            LogNoBlackBox(problem);
        }

        if (lastWords.Length > 0)
        {
            LogLastWords(lastWords);
            _ = ImportAsync(_blackBox, lastWords);
        }

        _lastHandler = (_, raised) => _blackBox.Write($"unhandled: {raised.ExceptionObject}");
        AppDomain.CurrentDomain.UnhandledException += _lastHandler;
    }

    private async Task ImportAsync(BlackBox box, string lastWords)
    {
        if (await _history!.AppendAsync(new NoticeRecord(_clock.Now, NoticeKind.RunBroke, 0, $"The run before broke: {lastWords}")) > 0)
        {
            box.Forget();
        }
    }

    /// <summary>Where there is no GPIO the inputs stay silent and count as open.</summary>
    private void StartGpio(MachineBoard board)
    {
        if (!OperatingSystem.IsLinux())
        {
            return;
        }

        foreach (var chip in GpioStepper.ChipsOf(board))
        {
            var stepper = new GpioStepper(board, chip, new LinuxGpioKernel(), TellGpio);
            var thread = new GpioThread(board, stepper, _clock, () => RealTimePriority.TryRaiseThisThread(), exception => PortBroke($"gpio {chip}", exception));
            _gpioSteppers.Add(stepper);
            _gpio.Add(thread);
            thread.Start();
        }
    }

    /// <summary>A chip's thread that hangs is no better than a coordinator that does.</summary>
    private TimeSpan SlowestBeat(CoordinatorThread coordinator)
    {
        var slowest = coordinator.Heartbeat;
        foreach (var chip in _gpioSteppers)
        {
            slowest = chip.Heartbeat < slowest ? chip.Heartbeat : slowest;
        }

        return slowest;
    }

    private void TellGpio(string input, string problem)
    {
        if (problem.Length == 0)
        {
            LogGpioRead(input);
        }
        else
        {
            LogGpioSilent(input, problem);
        }
    }

    private void StartPorts(MachineBoard board)
    {
        for (var port = 0; port < board.Machine.Ports.Count; port++)
        {
            var definition = board.Machine.Ports[port];
            var stepper = new PortStepper(board, port);
            var index = port;
            var opener = new LinkOpener(
                definition.Name, definition.Device, stepper.Line, board.Ports[port], () => PortAdvice.Of(board.Machine, index), _loggers.CreateLogger<LinkOpener>());
            var thread = new PortThread(board, stepper, definition.Name, opener.Open, _clock, exception => PortBroke(definition.Name, exception))
            {
                Begins = opener.Raise,
                Hung = opener.TellHung,
            };
            _ports.Add(thread);
            thread.Start();
        }
    }

    private void StartRecorder(MachineBoard board)
    {
        _traces = RecordingPlans.Of(board);
        _recorder = new RecorderThread(new RecorderSteps(_traces, _recordingEvents, record => _history!.Append(record)), _clock, LogRecorderBroke);
        _recorder.Start();
    }

    private void StartMessages()
    {
        _messenger = new Messenger(_plan.Machine, _history!, _clock, new SilentIncidents(_plan.Machine, () => Control.Alarms).IsSilent, _loggers.CreateLogger<Messenger>());
        _messenger.Start();
    }

    private void StartCoordinator()
    {
        _coordinatorThread = new CoordinatorThread(_coordinator!, _clock, exception =>
        {
            _blackBox!.Write($"coordinator: {exception}");
            LogCoordinatorBroke(exception);
            _broken.TrySetResult($"the coordinator ended by an error of its own: {exception.Message}");
        });
        _coordinatorThread.Start();
    }

    private async Task StartApiAsync(MachineBoard board)
    {
        _api = await ApiHost.StartAsync(_plan.Claim.Path, Control, _history!, _memories!.Loads, _memories.Timeouts, _memories.Alarms!, _traces!, _messenger!, _serilog);
        _plan.Claim.Restrict();
        var coordinator = _coordinatorThread!;
        _pulse = new PulseThread(new Pulse(board, () => SlowestBeat(coordinator), _api.SetServing, Look, _history!.NoteClock, _watchdog), _clock);
        await _pulse.FirstBeatAsync();
    }

    /// <summary>What is looked after a few times a second.</summary>
    private void Look(TimeSpan now)
    {
        Control.LapseOverdue(now);
        var health = _history!.Health;
        if (health.Good == _isHistoryGood)
        {
            return;
        }

        _isHistoryGood = health.Good;
        if (health.Good)
        {
            LogHistoryBack(health.Lost);
        }
        else
        {
            LogHistoryFails(health.Message);
        }
    }

    private void PortBroke(string port, Exception exception)
    {
        _blackBox!.Write($"port {port}: {exception}");
        LogPortBroke(port, exception);
        _history!.Append(new FaultRecord(
            _clock.Now, null, port, null, FaultCode.PortThreadEnded, FaultCatalogue.ClassOf(FaultCode.PortThreadEnded), 0, AxisState.Disabled, 0, double.NaN));
        _broken.TrySetResult($"port {port} ended by an error of its own: {exception.Message}");
    }

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
