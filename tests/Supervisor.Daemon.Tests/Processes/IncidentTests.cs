using System.Text.Json;
using System.Xml.Linq;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>Two axes fault on a real daemon; somebody who was not there finds what failed first, and what to do.</summary>
[Collection(ProcessTests.Name)]
public sealed class IncidentTests
{
    [Fact]
    public async Task TwoAxesFault_TheVerbsTellWhichWasFirstAndWhatToDo()
    {
        await using var trial = await TrialMachine.StartReadyAsync(
            file => file.Replace("\"machine\":", "\"history\": { \"incidentWindowMs\": 25000 },\n  \"machine\":", StringComparison.Ordinal));
        await using var follow = trial.Start("history", "--follow", "--from", "0", "--json");

        // A computer that stalled may have faulted an axis just before: that would be the same incident.
        await trial.UntilAsync("no fault of its own", async () => (await trial.RunAsync("incident", "--since", "26s")).Output.Contains("no incidents that fit", StringComparison.Ordinal));
        trial.Bench("fault gantry 0x7121");
        await SeeFaultedAsync(trial, "gantry");
        trial.Bench("fault tray 0x3220");
        await SeeFaultedAsync(trial, "tray");

        var listed = await trial.RunAsync("incident", "--json", "--limit", "1");
        Assert.True(listed.ExitCode == 0, listed.ToString());
        var incident = JsonDocument.Parse(listed.Output).RootElement.GetProperty("incidents")[0];
        var number = incident.GetProperty("number").GetInt64();
        Assert.Equal("gantry", incident.GetProperty("lead").GetProperty("axis").GetString());
        Assert.Equal("standing", incident.GetProperty("state").GetString());
        Assert.Equal(["gantry", "tray"], incident.GetProperty("axes").EnumerateArray().Select(axis => axis.GetString()));

        var told = await trial.RunAsync("incident", $"{number}");
        Assert.Contains("What came first", told.Output, StringComparison.Ordinal);
        Assert.True(
            told.Output.IndexOf("gantry: motor blocked", StringComparison.Ordinal) is > 0 and var first && first < told.Output.IndexOf("tray: under-voltage", StringComparison.Ordinal), told.Output);

        await trial.RunAsync("reset");
        await trial.RunAsync("home");
        await trial.RunAsync("enable");
        await trial.UntilAsync("the incident over", async () => (await trial.RunAsync("incident")).Output.Contains($"incident {number}", StringComparison.Ordinal)
            && (await trial.RunAsync("incident")).Output.Contains("back after", StringComparison.Ordinal));

        var statistics = await trial.RunAsync("statistics", "--since", "1h", "--json");
        Assert.True(statistics.ExitCode == 0, statistics.ToString());
        var counted = JsonDocument.Parse(statistics.Output).RootElement;
        var dependability = counted.GetProperty("dependability");

        // At least: a computer that stalled at the start may have made a failure of its own.
        Assert.True(dependability.GetProperty("failures").GetInt32() >= 1 && counted.GetProperty("faults").GetInt32() >= 2, statistics.ToString());
        Assert.False(dependability.GetProperty("isDown").GetBoolean(), statistics.ToString());
        Assert.Equal("MOTOR_BLOCKED", counted.GetProperty("faultsByDownTime")[0].GetProperty("name").GetString());
        Assert.Contains("mean time between failures", (await trial.RunAsync("statistics", "--axis", "gantry")).Output, StringComparison.Ordinal);
        Assert.Contains("dibber", (await trial.RunAsync("statistics", "--axis", "dribbler")).Error, StringComparison.Ordinal);

        await trial.UntilAsync("a recording of it", async () => JsonDocument.Parse((await trial.RunAsync("recordings", "--json")).Output).RootElement.GetProperty("recordings")
            .EnumerateArray().Any(recording => recording.TryGetProperty("incident", out var of) && of.ValueKind == JsonValueKind.Number && of.GetInt64() == number));
        var report = Path.Combine(trial.StateFolder, "report.html");
        Assert.Equal(0, (await trial.RunAsync("incident", $"{number}", "--report", report)).ExitCode);
        var document = XDocument.Load(report);
        Assert.Contains("Tray seeder", document.Root!.Value, StringComparison.Ordinal);
        Assert.Contains(document.Descendants(), element => element.Name.LocalName == "path");

        var csv = await trial.RunAsync("history", "--incident", $"{number}", "--csv", "--limit", "1000");
        var lines = await trial.RunAsync("history", "--incident", $"{number}", "--json", "--limit", "1000");
        Assert.Equal(lines.Output.Trim().Split('\n').Length + 1, csv.Output.Trim().Split('\n').Length);
        Assert.Contains("reset", lines.Output, StringComparison.Ordinal);

        follow.Signal(Signals.Interrupt);
        var followed = await follow.EndAsync();
        Assert.True(followed.ExitCode == 130, followed.ToString());
        var numbers = followed.Output.Trim().Split('\n').Select(line => JsonDocument.Parse(line).RootElement.GetProperty("record").GetProperty("sequence").GetInt64()).ToArray();
        Assert.Equal(Enumerable.Range(1, numbers.Length).Select(n => (long)n), numbers);
        Assert.True(numbers.Length > number, followed.ToString());
    }

    [Fact]
    public async Task Verbs_AskedForWhatThereIsNot_SayWhatThereIs()
    {
        await using var trial = await TrialMachine.StartAsync();

        var none = await trial.RunAsync("incident", "99999");
        Assert.Equal((1, true), (none.ExitCode, none.Error.Contains("99999", StringComparison.Ordinal)));
        var axis = await trial.RunAsync("history", "--axis", "dribbler");
        Assert.Equal((1, true), (axis.ExitCode, axis.Error.Contains("dibber", StringComparison.Ordinal)));
        var code = await trial.RunAsync("history", "--code", "NO_SUCH");
        Assert.Equal((1, true), (code.ExitCode, code.Error.Contains("NO_SUCH", StringComparison.Ordinal)));
        var time = await trial.RunAsync("history", "--since", "yesterday");
        Assert.Equal((2, true), (time.ExitCode, time.Error.Contains("2h", StringComparison.Ordinal)));
        var report = await trial.RunAsync("incident", "--report", "x.html");
        Assert.Equal(2, report.ExitCode);
        var starts = await trial.RunAsync("history", "--kind", "start", "--since", "1h");
        Assert.Contains("the supervisor started", starts.Output, StringComparison.Ordinal);
    }

    private static Task<JsonElement> SeeFaultedAsync(TrialMachine trial, string axis) =>
        trial.SeeAsync($"{axis} faulted", status => TrialMachine.Axis(status, axis).GetProperty("state").GetString() == "Faulted");
}
