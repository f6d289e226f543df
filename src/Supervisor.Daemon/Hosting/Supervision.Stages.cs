using Supervisor.Bus.Gpio;
using Supervisor.Daemon.Messages;
using Supervisor.Daemon.Services;
using Supervisor.History;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Machine;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime;
using Supervisor.Runtime.Gpio;
using Supervisor.Runtime.Ports;

namespace Supervisor.Daemon.Hosting;

/// <content>How each stage is brought up; the order is in <see cref="StartAsync"/>.</content>
internal sealed partial class Supervision
{
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
}
