using System.Globalization;
using Supervisor.Api.V1;
using Supervisor.Configuration.Parameters;
using Supervisor.Records;

namespace Supervisor.Daemon.Verbs.Drives;

/// <summary>Parameters for people and programs.</summary>
internal static class DriveText
{
    public static void Print(GetDriveResponse drive, TextWriter output)
    {
        output.WriteLine(drive.Definition);
        output.WriteLine(drive.TimeoutProof is { } proof
            ? $"communication time-out {Value(proof.TimeoutMs, "ms")}: {proof.Text}"
            : "communication time-out: none declared: the drive does not stop by itself");
        Table(output, ["parameter", "value", "machine file", "", ""], drive.Parameters.Select(parameter => (string[])
        [
            parameter.Name,
            parameter.HasValue ? Value(parameter.Value, parameter.Unit) : "not read yet",
            parameter.HasFixedValue ? $"{Value(parameter.FixedValue, parameter.Unit)} ({parameter.OnDifference})" : parameter.SetByMachineFile ? "sets it" : "",
            string.Join(", ", Words(parameter)),
            parameter.Difference,
        ]));
    }

    public static DriveJson ToJson(string axis, GetDriveResponse drive) => new(axis, drive.Definition, [.. drive.Parameters.Select(parameter => new DriveParameterJson(
        parameter.Name, parameter.HasValue ? parameter.Value : null, NotEmpty(parameter.Unit), parameter.Readable, parameter.Writable, parameter.Stored,
        parameter.SetByMachineFile, parameter.HasFixedValue ? parameter.FixedValue : null, NotEmpty(parameter.OnDifference), parameter.Writes,
        NotEmpty(parameter.Difference), parameter.BlocksAxis))], TimeoutText.ToJson(drive.TimeoutProof));

    public static void TellSaved(string file, DriveParameterSet set, IReadOnlyList<string> notRead, bool json)
    {
        if (json)
        {
            JsonOut.Print(new DriveSavedJson(set.Axis, file, set.Definition, set.Parameters.Count, notRead, set.Hash()), JsonShapes.Readable.DriveSavedJson);
        }
        else
        {
            Console.Out.WriteLine($"{Counted.Of(set.Parameters.Count, "parameter")} of {set.Axis} saved in {file}");
        }

        if (notRead.Count > 0)
        {
            Terminal.Error($"the drive refused to tell {string.Join(", ", notRead)}: the set is not whole");
        }
    }

    public static void TellCompared(string axis, string file, DrivePlan plan, bool json)
    {
        if (json)
        {
            JsonOut.Print(
                new DriveComparedJson(
                    axis, file, plan.Differences == 0 && plan.Problems.Count == 0, plan.Differences,
                    [.. plan.Parameters.Select(parameter => new ComparedParameterJson(
                        parameter.Name, NotEmpty(parameter.Unit), parameter.File, parameter.Drive, parameter.IsSame))],
                    Identity(plan), plan.Problems),
                JsonShapes.Readable.DriveComparedJson);
            return;
        }

        TellIdentity(plan);
        Table(Console.Out, ["parameter", "file", "drive", ""], plan.Parameters.Select(parameter => (string[])
            [parameter.Name, Value(parameter.File, parameter.Unit), Value(parameter.Drive, parameter.Unit), parameter.IsSame ? "same" : "different"]));
        plan.Problems.ToList().ForEach(Terminal.Error);
        Console.Out.WriteLine(plan.Differences == 0 ? "all the same" : $"{plan.Differences} of {plan.Parameters.Count} different");
    }

    /// <summary>What differs in identity, for a person to see before anything else.</summary>
    public static void TellIdentity(DrivePlan plan)
    {
        foreach (var difference in plan.Identity)
        {
            Console.Out.WriteLine(difference.Message);
        }
    }

    public static void PrintPlan(DrivePlan plan) => Table(
        Console.Out, ["parameter", "drive", "file", "", ""], plan.Parameters.Select(parameter => (string[])
        [
            parameter.Name, Value(parameter.Drive, parameter.Unit), Value(parameter.File, parameter.Unit),
            parameter.IsWritten ? $"write {Value(parameter.Wanted, parameter.Unit)}" : "leave",
            parameter.Note,
        ]));

    public static IReadOnlyList<IdentityJson> Identity(DrivePlan plan) => [.. plan.Identity.Select(difference => new IdentityJson(difference.Word, difference.Message))];

    public static string Of(ParameterWritten written) => written.Outcome switch
    {
        WriteOutcome.Unchanged => "had it already",
        WriteOutcome.Written => "written and read back",
        WriteOutcome.WrittenUnread => "written; it can't be read back",
        WriteOutcome.NotTaken => "not taken: the drive kept another value",
        WriteOutcome.Rejected => $"refused by the drive (exception {written.ExceptionCode})",
        WriteOutcome.Unknown => "sent, then the drive was lost: perhaps written",
        WriteOutcome.NotSent => "not sent",
        _ => "",
    };

    public static string Word(WriteOutcome outcome) => outcome switch
    {
        WriteOutcome.Unchanged => "unchanged",
        WriteOutcome.Written => "written",
        WriteOutcome.WrittenUnread => "writtenUnread",
        WriteOutcome.NotTaken => "notTaken",
        WriteOutcome.Rejected => "rejected",
        WriteOutcome.Unknown => "unknown",
        WriteOutcome.NotSent => "notSent",
        _ => "",
    };

    public static string? NotEmpty(string text) => text.Length > 0 ? text : null;

    private static string Value(double? value, string unit) => value is { } number ? Value(number, unit) : "-";

    /// <summary>Every digit that a register tells: a step may be small.</summary>
    private static string Value(double value, string unit) => $"{value.ToString(CultureInfo.InvariantCulture)} {unit}".TrimEnd();

    private static IEnumerable<string> Words(DriveParameter parameter)
    {
        if (!parameter.Writable)
        {
            yield return "read only";
        }

        if (parameter.Stored)
        {
            yield return "stored";
        }

        if (parameter.Writes > 0)
        {
            yield return $"written {parameter.Writes} times since start";
        }
    }

    private static void Table(TextWriter output, string[] head, IEnumerable<string[]> rows)
    {
        string[][] all = [head, .. rows];
        var widths = Enumerable.Range(0, head.Length).Select(column => all.Max(row => row[column].Length)).ToArray();
        foreach (var row in all)
        {
            output.WriteLine(string.Join("  ", row.Select((cell, column) => cell.PadRight(widths[column]))).TrimEnd());
        }
    }
}
