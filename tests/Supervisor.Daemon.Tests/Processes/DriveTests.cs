using System.Text.Json;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>A drive's set saved, compared, and loaded into the drive that takes its place, by the verbs on real pseudo-terminals.</summary>
[Collection(ProcessTests.Name)]
public sealed class DriveTests
{
    [Fact]
    public async Task ReplacedDrive_LoadedFromItsFile_IsBackInOneStep()
    {
        await using var trial = await TrialMachine.StartAsync();
        var file = Path.Combine(Path.GetDirectoryName(trial.MachineFile)!, "dibber.drive-parameters.json");
        await trial.SeeAsync("the dibber disabled", status => TrialMachine.Axis(status, "dibber").GetProperty("state").GetString() == "Disabled");

        var saved = await trial.RunAsync("drive", "save", "dibber", "--file", file, "--json");
        Assert.True(saved.ExitCode == 0, saved.ToString());
        var same = await trial.RunAsync("drive", "compare", "dibber", "--file", file, "--json");
        Assert.True(same.ExitCode == 0, same.ToString());
        Assert.True(Json(same).GetProperty("same").GetBoolean());
        Assert.Equal(2, (await trial.RunAsync("drive", "save", "dibber", "--file", file)).ExitCode);

        trial.Bench("exchange dibber");
        await trial.SeeAsync("another drive found out", status => TrialMachine.Axis(status, "dibber") is var axis
            && axis.GetProperty("online").GetBoolean() && axis.GetProperty("fault").GetString() == "WRONG_IDENTITY");
        Assert.Equal(1, (await trial.RunAsync("drive", "compare", "dibber", "--file", file)).ExitCode);
        var faults = await trial.RunAsync("faults", "--axis", "dibber", "--json");
        Assert.Contains("positionGain: the machine file has 12 1/s, the drive 0 1/s", faults.Output, StringComparison.Ordinal);

        var stranger = await trial.RunAsync("drive", "load", "dibber", "--file", file, "--confirm");
        Assert.Equal(1, stranger.ExitCode);
        Assert.Contains("--accept serialNumber", stranger.Error, StringComparison.Ordinal);
        var planned = await trial.RunAsync("drive", "load", "dibber", "--file", file, "--accept", "serialNumber");
        Assert.Equal(1, planned.ExitCode);
        Assert.Contains("write 12 1/s", planned.Output, StringComparison.Ordinal);

        var loaded = await trial.RunAsync("drive", "load", "dibber", "--file", file, "--accept", "serialNumber", "--confirm", "--json");
        Assert.True(loaded.ExitCode == 0, loaded.ToString());
        Assert.True(Json(loaded).GetProperty("complete").GetBoolean());
        Assert.True(Json(loaded).GetProperty("saved").GetBoolean());
        Assert.True(Json(loaded).GetProperty("reset").GetBoolean(), loaded.ToString());
        Assert.Equal(
            [("positionGain", "written"), ("velocityGain", "unchanged")],
            Json(loaded).GetProperty("parameters").EnumerateArray().Select(parameter => (parameter.GetProperty("name").GetString()!, parameter.GetProperty("outcome").GetString()!)));

        Assert.Equal(0, (await trial.RunAsync("drive", "compare", "dibber", "--file", file)).ExitCode);
        var axis = await trial.AxisAsync("dibber");
        Assert.Equal(("Disabled", false), (axis.GetProperty("state").GetString(), axis.GetProperty("referenced").GetBoolean()));
        Assert.Equal("production", (await trial.StatusAsync())!.Value.GetProperty("mode").GetString());

        // Who changed a drive is kept.
        trial.Serve.Signal(Signals.Terminate);
        Assert.Equal(0, (await trial.Serve.EndAsync()).ExitCode);
        var kept = new HistoryReader(Path.Combine(Path.GetDirectoryName(trial.MachineFile)!, "state", "history.db"))
            .Query(new HistoryFilter { Kinds = [RecordKind.Command], Axis = "dibber", Limit = 100 }).Records.Select(stored => (CommandRecord)stored.Record);
        var load = Assert.Single(kept, record => record.Command.StartsWith("load ", StringComparison.Ordinal));
        Assert.Equal(Outcome.Done, load.Outcome);
        Assert.Contains("drive load", load.Holder, StringComparison.Ordinal);
    }

    private static JsonElement Json(Said said) => JsonDocument.Parse(said.Output).RootElement;
}
