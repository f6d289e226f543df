using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Parameters;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs.Drives;

/// <summary>
/// <c>drive show|save|compare|load AXIS</c>: the parameters of an axis's drive, known, read, laid beside a file, loaded from one; beside them the proof of
/// its communication time-out (<see cref="TimeoutVerbs"/>).
/// </summary>
internal static class DriveVerb
{
    public const string Suffix = ".drive-parameters.json";

    // A long set on a slow line takes its time; the daemon itself gives up a drive that does not come on.
    private static readonly TimeSpan ReadPatience = TimeSpan.FromMinutes(2);

    public static Command Build() => new("drive", "The drive of an axis: its parameters, and the proof of its communication time-out.")
    {
        Show(),
        Save(),
        Compare(),
        Load(),
        TimeoutVerbs.Prove(),
        TimeoutVerbs.List(),
    };

    private static Command Show()
    {
        var (axis, json, server) = (Axis(), ClientOptions.Json(), ClientOptions.Server());
        var verb = new Command("show", "What is known of the parameters without asking the drive, and what the machine file fixes.") { axis, json, server };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var name = parsed.GetRequiredValue(axis);
                var drive = await daemon.Drive.GetDriveAsync(new GetDriveRequest { Axis = name }, cancellationToken: ends);
                if (parsed.GetValue(json))
                {
                    JsonOut.Print(DriveText.ToJson(name, drive), JsonShapes.Readable.DriveJson);
                }
                else
                {
                    DriveText.Print(drive, Console.Out);
                }

                return ExitCode.Done;
            },
            cancellation));
        return verb;
    }

    private static Command Save()
    {
        var (axis, file, json, server) = (Axis(), File(), ClientOptions.Json(), ClientOptions.Server());
        var overwrite = new Option<bool>("--overwrite") { Description = "Replace a file that is there: the set in it is lost." };
        var verb = new Command("save", "Read every parameter out of the drive into a file, with the drive's identity.") { axis, file, overwrite, json, server };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            (daemon, ends) => SaveAsync(
                daemon, parsed.GetRequiredValue(axis), parsed.GetRequiredValue(file), parsed.GetValue(overwrite), parsed.GetValue(json), ends),
            cancellation));
        return verb;
    }

    private static Command Compare()
    {
        var (axis, file, json, server) = (Axis(), File(), ClientOptions.Json(), ClientOptions.Server());
        var verb = new Command("compare", "Lay a saved file beside the drive: 0 when all that can be loaded is the same, 1 when not.") { axis, file, json, server };
        verb.SetAction((parsed, cancellation) => WithFileAsync(parsed.GetRequiredValue(file), set => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var plan = await PlanAsync(daemon, parsed.GetRequiredValue(axis), set, ends);
                DriveText.TellCompared(parsed.GetRequiredValue(axis), parsed.GetRequiredValue(file), plan, parsed.GetValue(json));
                return plan.Differences == 0 && plan.Problems.Count == 0 ? ExitCode.Done : ExitCode.Failed;
            },
            cancellation)));
        return verb;
    }

    private static Command Load()
    {
        var (axis, file, json, server) = (Axis(), File(), ClientOptions.Json(), ClientOptions.Server());
        var confirm = new Option<bool>("--confirm") { Description = "Write. Without it the plan is shown and nothing is written." };
        var accept = new Option<string[]>("--accept")
        {
            Description = "Load although this is not as in the file, such as serialNumber for a drive that was exchanged; may be repeated.",
            HelpName = "WHAT",
            DefaultValueFactory = _ => [],
        };
        accept.AcceptOnlyFromAmong(DrivePlan.AcceptWords);
        var verb = new Command("load", "Write a saved file into the drive, read it back, have the drive keep it, and reset the axis. It then has to be homed.")
        {
            axis, file, confirm, accept, json, server,
        };
        verb.SetAction((parsed, cancellation) => WithFileAsync(parsed.GetRequiredValue(file), set => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            (daemon, ends) => new DriveLoad
            {
                Axis = parsed.GetRequiredValue(axis),
                File = parsed.GetRequiredValue(file),
                Set = set,
                Confirmed = parsed.GetValue(confirm),
                Accepted = parsed.GetRequiredValue(accept),
                Json = parsed.GetValue(json),
            }.RunAsync(daemon, ends),
            cancellation)));
        return verb;
    }

    public static async Task<DrivePlan> PlanAsync(DaemonConnection daemon, string axis, ReadParameterSet set, CancellationToken cancellation)
    {
        var drive = await daemon.Drive.GetDriveAsync(new GetDriveRequest { Axis = axis }, cancellationToken: cancellation);
        return DrivePlan.Make(axis, set, drive, await ReadAsync(daemon, axis, cancellation));
    }

    private static async Task<ReadParametersResponse> ReadAsync(DaemonConnection daemon, string axis, CancellationToken cancellation) =>
        await daemon.Drive.ReadParametersAsync(
            new ReadParametersRequest { Axis = axis }, deadline: DateTime.UtcNow + ReadPatience, cancellationToken: cancellation);

    private static async Task<int> SaveAsync(DaemonConnection daemon, string axis, string file, bool overwrite, bool json, CancellationToken cancellation)
    {
        if (System.IO.File.Exists(file) && !overwrite)
        {
            // Told before the drive is asked: it may be the only good set of a drive that is gone.
            Terminal.Error($"{file} is there already; choose another name, or --overwrite");
            return ExitCode.Usage;
        }

        var drive = await daemon.Drive.GetDriveAsync(new GetDriveRequest { Axis = axis }, cancellationToken: cancellation);
        var readings = await ReadAsync(daemon, axis, cancellation);
        var set = SetOf(axis, drive, readings);
        var notRead = readings.Readings.Where(reading => !reading.HasValue).Select(reading => reading.Name).ToArray();
        try
        {
            DriveParametersFile.Write(file, set, overwrite);
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            Terminal.Error($"{file} can't be written: {exception.Message}");
            return ExitCode.Failed;
        }

        DriveText.TellSaved(file, set, notRead, json);
        return notRead.Length == 0 ? ExitCode.Done : ExitCode.Failed;
    }

    private static DriveParameterSet SetOf(string axis, GetDriveResponse drive, ReadParametersResponse readings)
    {
        var units = drive.Parameters.ToDictionary(parameter => parameter.Name, parameter => parameter.Unit);
        string[] identity = [FieldNames.SerialNumber, FieldNames.Model, FieldNames.FirmwareVersion];
        var read = readings.Readings.Where(reading => reading.HasValue).ToArray();
        return new DriveParameterSet(
            axis, drive.Definition,
            read.Where(reading => identity.Contains(reading.Name)).ToDictionary(reading => reading.Name, reading => reading.Value),
            DateTimeOffset.UtcNow,
            [.. read.Select(reading => new SavedParameter(reading.Name, reading.Value, units[reading.Name] is { Length: > 0 } unit ? unit : null))]);
    }

    private static async Task<int> WithFileAsync(string path, Func<ReadParameterSet, Task<int>> run)
    {
        var result = DriveParametersFile.Read(path);
        Terminal.Errors(result.Errors);
        return result.Value is { } set ? await run(set) : ExitCode.Usage;
    }

    internal static Argument<string> Axis() => new("AXIS") { Description = "Name of an axis." };

    private static Option<string> File() => new("--file") { Description = $"The set, such as dibber{Suffix}.", HelpName = "FILE", Required = true };
}
