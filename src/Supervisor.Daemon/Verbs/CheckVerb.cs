using System.CommandLine;
using Supervisor.Configuration;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Routines;
using Supervisor.Daemon.Hosting;
using Supervisor.Machine.Watching;
using Supervisor.Records;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>check FILE [--routine FILE]… [--json]</c>.</summary>
internal static class CheckVerb
{
    private const string DriveSuffix = ".drive.json";

    public static Command Build()
    {
        var file = new Argument<string>("FILE") { Description = "A machine file, or a drive definition (*.drive.json)." };
        var routines = new Option<string[]>("--routine") { Description = "Also check this routine file against the machine.", HelpName = "FILE", DefaultValueFactory = _ => [] };
        var state = new Option<string?>("--state-dir")
        {
            Description = "Where the daemon keeps its state: what it proved at commissioning is told from there.", HelpName = "FOLDER",
        };
        var json = ClientOptions.Json();
        var verb = new Command("check", "Check files and tell every error; touches no port.") { file, routines, state, json };
        verb.SetAction(parsed =>
        {
            var path = parsed.GetRequiredValue(file);
            return path.EndsWith(DriveSuffix, StringComparison.OrdinalIgnoreCase)
                ? CheckDrive(path, parsed.GetValue(json))
                : CheckMachine(path, parsed.GetRequiredValue(routines), StateFolder.Find(parsed.GetValue(state)), parsed.GetValue(json));
        });
        return verb;
    }

    private static int CheckDrive(string path, bool json)
    {
        var result = DriveDefinitionFile.Read(path);
        return Tell(path, result.Errors, json, result.Value?.Name, null, null, () =>
        {
            var drive = result.Value!;
            Console.Out.WriteLine(
                $"{path}: good: drive definition \"{drive.Name}\", {Counted.Of(drive.Feedback.Count, "feedback field")}, {Counted.Of(drive.Command.Count, "command field")}, "
                + $"{Counted.Of(drive.Parameters.Count, "parameter")}, {Counted.Of(drive.Inputs.Count, "input")}, {Counted.Of(drive.Outputs.Count, "output")}"
                + (drive.Identification is { } identification ? $"; must tell what it is: {IdentityTexts.Accepted(identification)}" : ""));
        });
    }

    private static int CheckMachine(string path, IReadOnlyList<string> routines, string? state, bool json)
    {
        var result = MachineFile.Read(path);
        var errors = new List<FileError>(result.Errors);
        var read = new List<string>();
        if (result.Value is { } machine)
        {
            foreach (var routine in routines)
            {
                var checkedRoutine = RoutineFile.Read(routine, machine);
                errors.AddRange(checkedRoutine.Errors);
                if (checkedRoutine.Value is { } good)
                {
                    read.Add($"{routine}: good: routine \"{good.Name}\", {Counted.Of(good.Steps.Count, "step")}");
                }
            }
        }

        return Tell(path, errors, json, result.Value?.Name, result.Value, state, () =>
        {
            Console.Out.WriteLine($"{path}: good");
            CheckSummary.Print(result.Value!, Console.Out);
            CheckedTimeouts.Print(result.Value!, state, Console.Out);
            read.ForEach(Console.Out.WriteLine);
        });
    }

    private static int Tell(string path, IReadOnlyList<FileError> errors, bool json, string? name, MachineDefinition? machine, string? state, Action summarise)
    {
        Terminal.Errors(errors);
        if (json)
        {
            JsonOut.Print(
                CheckSummary.ToJson(path, errors, name, machine) with { Timeouts = machine is null ? [] : CheckedTimeouts.ToJson(machine, state) }, JsonShapes.Readable.CheckJson);
        }
        else if (errors.Count == 0)
        {
            summarise();
        }

        return errors.Count == 0 ? ExitCode.Done : ExitCode.Usage;
    }
}
