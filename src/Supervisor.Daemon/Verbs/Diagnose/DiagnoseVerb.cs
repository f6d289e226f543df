using System.CommandLine;
using Supervisor.Daemon.Hosting;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary><c>diagnose FILE [--device NAME=PATH]… [--json]</c>.</summary>
internal static class DiagnoseVerb
{
    public static Command Build()
    {
        var file = new Argument<string>("FILE") { Description = "The machine file." };
        var devices = new Option<string[]>("--device")
        {
            Description = "Use another device for a port of the file; may be given several times.", HelpName = "NAME=PATH", DefaultValueFactory = _ => [],
        };
        var json = ClientOptions.Json();
        var verb = new Command(
            "diagnose",
            "Look at every port, drive, module, input and output that a machine file names, and say what was found and what to do. Reads only; without a daemon. Tells nothing about the safety circuit.")
        { file, devices, json };
        verb.SetAction(parsed => Run(parsed.GetRequiredValue(file), parsed.GetRequiredValue(devices), parsed.GetValue(json)));
        return verb;
    }

    private static int Run(string file, IReadOnlyList<string> devices, bool json)
    {
        if (SupervisionPlan.Read(file, devices, out var problems) is not { } read)
        {
            Terminal.Errors(problems);
            return ExitCode.Usage;
        }

        var things = new Diagnosis(read.Machine, new DiagnosisPlaces()).Run(out var refusal);
        if (refusal.Length > 0)
        {
            Terminal.Error(refusal);
            return ExitCode.Failed;
        }

        if (json)
        {
            JsonOut.Print(DiagnoseText.ToJson(file, read.Machine.Name, things), JsonShapes.Readable.DiagnosisJson);
        }
        else
        {
            DiagnoseText.Print(read.Machine.Name, things, Console.Out);
        }

        return DiagnoseText.Count(things, FindingState.Wrong) == 0 ? ExitCode.Done : ExitCode.Failed;
    }
}
