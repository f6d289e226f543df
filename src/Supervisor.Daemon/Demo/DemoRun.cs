using Serilog.Extensions.Logging;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Client;
using Supervisor.Daemon.Hosting;
using Supervisor.Daemon.Verbs;

namespace Supervisor.Daemon.Demo;

/// <summary>One demo: the bench as a child process, the daemon in this one, an operator as its client, and everything cleared away at the end.</summary>
internal sealed class DemoRun(int cycles, string? socket, DemoVoice voice)
{
    private readonly string _folder = Directory.CreateTempSubdirectory("axis-supervisor-demo-").FullName;

    /// <summary>What was counted; null when it did not come to its end.</summary>
    public DemoJson? Count { get; private set; }

    /// <summary>Runs it. What went wrong is told to standard error.</summary>
    public async Task<int> RunAsync(CancellationToken cancellation)
    {
        var keepFolder = false;
        try
        {
            return await PlayAsync(cancellation);
        }
        catch (Exception exception) when (cancellation.IsCancellationRequested && exception is OperationCanceledException or Grpc.Core.RpcException { StatusCode: Grpc.Core.StatusCode.Cancelled })
        {
            return ExitCode.Interrupted;
        }
        catch (Exception exception) when (exception is DemoFailedException or Grpc.Core.RpcException or IOException)
        {
            keepFolder = true;
            voice.Say($"demo failed: {exception.Message}");
            Terminal.Error($"demo failed: {exception.Message}; the daemon's log and history are in {_folder}");
            return ExitCode.Failed;
        }
        finally
        {
            if (!keepFolder)
            {
                Directory.Delete(_folder, recursive: true);
            }
        }
    }

    private async Task<int> PlayAsync(CancellationToken cancellation)
    {
        var begun = MonotonicClock.System.Now;
        var links = Path.Combine(_folder, "links");
        if (Plan(links) is not { } plan)
        {
            return ExitCode.Usage;
        }

        using var claim = plan.Claim;
        var routine = DemoFiles.ReadRoutine(plan.Machine, out var problems);
        if (problems.Count > 0)
        {
            Terminal.Errors(problems);
            return ExitCode.Usage;
        }

        await using var bench = await BenchProcess.StartAsync(DemoFiles.MachinePath, links, cancellation);
        voice.Say($"the simulated {plan.Machine.Name} runs as a process of its own: {string.Join(", ", plan.Machine.Ports.Select(port => port.Device))}");
        await using var log = new StreamWriter(Path.Combine(_folder, "daemon.log"));
        await using var logger = LogSetup.ToWriter(log);
        using var loggers = new SerilogLoggerFactory(logger);
        await using var supervision = await Supervision.StartAsync(plan, ServiceWatchdog.None, logger, loggers);
        voice.Say($"the daemon serves at {plan.Claim.Path}; `axis-supervisor status` shows the same machine");

        using var daemon = await DaemonConnection.OpenAsync(plan.Claim.Path, cancellation);
        await using var eye = new MachineEye(daemon);
        var trays = new TrayCycles(supervision.Control, routine, voice);
        var story = new DemoStory(plan.Machine, new DemoOperator(daemon, bench, eye, voice), trays.RunAsync);
        eye.Add(voice.Show);
        eye.Add(story.Watch);
        await WhileWholeAsync(supervision, story.PlayAsync(cycles, cancellation));

        await supervision.History.FlushAsync();
        Count = DemoCount.Count(supervision.History.Reader, supervision.Control.Status().Ports, story.CyclesDone, MonotonicClock.System.Now - begun);
        await supervision.StopAsync("the demo is over");
        Judge(Count);
        return ExitCode.Done;
    }

    /// <summary>The demo machine with the bench's device nodes; null when something is wrong, and then it was told.</summary>
    private SupervisionPlan? Plan(string links)
    {
        var machine = MachineFile.Read(DemoFiles.MachinePath).Value;
        string[] devices = machine is null ? [] : [.. machine.Ports.Select(port => $"{port.Name}={Path.Combine(links, port.Name)}")];
        return ServeVerb.Plan(DemoFiles.MachinePath, devices, socket, Path.Combine(_folder, "state"));
    }

    /// <summary>A thread of the daemon that broke is the story's end.</summary>
    private static async Task WhileWholeAsync(Supervision supervision, Task story)
    {
        if (await Task.WhenAny(story, supervision.Broken) == supervision.Broken)
        {
            throw new DemoFailedException(await supervision.Broken);
        }

        await story;
    }

    private void Judge(DemoJson count)
    {
        var wrong = new List<string>();
        Expect("tray cycles", cycles, count.Cycles);
        Expect("ordered stops", 1, count.OrderedStops);
        Expect("faults", 1, count.Faults);
        Expect("recoveries", 1, count.Recoveries);
        if (wrong.Count > 0)
        {
            throw new DemoFailedException(string.Join("; ", wrong));
        }

        void Expect(string what, int wanted, int found)
        {
            if (wanted != found)
            {
                wrong.Add($"{found} {what} recorded instead of {wanted}");
            }
        }
    }
}
