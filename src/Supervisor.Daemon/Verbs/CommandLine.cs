using System.CommandLine;
using System.Runtime.InteropServices;
using Supervisor.Daemon.Verbs.Alarms;
using Supervisor.Daemon.Verbs.Diagnose;
using Supervisor.Daemon.Verbs.Drives;
using Supervisor.Daemon.Verbs.History;
using Supervisor.Daemon.Verbs.Lines;
using Supervisor.Daemon.Verbs.Messages;
using Supervisor.Daemon.Verbs.Signals;
using Supervisor.Daemon.Verbs.Traces;

namespace Supervisor.Daemon.Verbs;

/// <summary>The command line: reads it, tells what is wrong with it, and runs one verb.</summary>
public static class CommandLine
{
    /// <summary>Runs a verb and answers its exit code.</summary>
    public static async Task<int> RunAsync(string[] args)
    {
        var parsed = Build().Parse(args);
        if (parsed.Errors.Count > 0)
        {
            foreach (var error in parsed.Errors)
            {
                Terminal.Error(error.Message);
            }

            var verb = parsed.CommandResult.Command;
            Console.Error.WriteLine($"`axis-supervisor {(verb is RootCommand ? "" : $"{verb.Name} ")}--help` tells how it is used");
            return ExitCode.Usage;
        }

        using var stop = new CancellationTokenSource();
        var isInterrupted = false;
        using var interrupt = PosixSignalRegistration.Create(PosixSignal.SIGINT, context =>
        {
            isInterrupted = true;
            Signalled(context, stop);
        });
        using var terminate = PosixSignalRegistration.Create(PosixSignal.SIGTERM, context => Signalled(context, stop));
        var code = await parsed.InvokeAsync(new InvocationConfiguration { ProcessTerminationTimeout = null, EnableDefaultExceptionHandler = false }, stop.Token);
        return code == ExitCode.Done && isInterrupted ? ExitCode.Interrupted : code;
    }

    internal static RootCommand Build() => new("Supervises a production machine's axes. Not a safety device: the hardware emergency stop works without it.")
    {
        DemoVerb.Build(),
        ServeVerb.Build(),
        SimulateVerb.Build(),
        CheckVerb.Build(),
        SchemaVerb.Build(),
        PortsVerb.Build(),
        ScanVerb.Build(),
        LineTestVerb.Build(),
        DiagnoseVerb.Build(),
        StatusVerb.Build(),
        WatchVerb.Build(),
        AxisVerbs.Enable(),
        AxisVerbs.Disable(),
        AxisVerbs.Home(),
        AxisVerbs.Brake(),
        MoveVerb.Build(),
        JogVerb.Build(),
        ContactVerb.Build(),
        ModeVerb.Build(),
        OutputVerbs.Output(),
        OutputVerbs.Power(),
        SignalVerbs.Horn(),
        SignalVerbs.Lamps(),
        CounterVerbs.Build(),
        AxisVerbs.Halt(),
        AxisVerbs.Stop(),
        AxisVerbs.Release(),
        AxisVerbs.Reset(),
        AlarmsVerb.Build(),
        AlarmsVerb.Acknowledge(),
        FaultsVerb.Build(),
        StopsVerb.Build(),
        HistoryVerb.Build(),
        IncidentVerb.Build(),
        TraceVerb.Build(),
        RecordingsVerb.Build(),
        StatisticsVerb.Build(),
        MessagesVerb.Build(),
        DriveVerb.Build(),
    };

    /// <summary>The first signal asks the verb to end in order; a second one ends the process.</summary>
    private static void Signalled(PosixSignalContext context, CancellationTokenSource stop)
    {
        if (!stop.IsCancellationRequested)
        {
            context.Cancel = true;
            stop.Cancel();
        }
    }
}
