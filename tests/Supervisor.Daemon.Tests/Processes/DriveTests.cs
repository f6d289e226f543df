using System.Text.Json;
using Supervisor.Daemon.Client;
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

    /// <summary>A drive that saves for four seconds, and a service manager that stops the daemon meanwhile.</summary>
    [Fact]
    public async Task Load_CutShortByTheEndOfTheDaemon_HoldsTheAxisAfterTheRestart()
    {
        await using var trial = await TrialMachine.StartAsync(
            text => text.Replace(", \"velocityGain\": 80", "", StringComparison.Ordinal),
            editDrive: text => text.Replace("\"busyMs\": 200", "\"busyMs\": 4000", StringComparison.Ordinal));
        var file = Path.Combine(Path.GetDirectoryName(trial.MachineFile)!, "dibber.drive-parameters.json");
        var memory = Path.Combine(trial.StateFolder, "unfinished-loads.json");
        await trial.SeeAsync("the dibber disabled", status => TrialMachine.Axis(status, "dibber").GetProperty("state").GetString() == "Disabled");
        Assert.Equal(0, (await trial.RunAsync("drive", "save", "dibber", "--file", file)).ExitCode);
        Assert.False(File.Exists(memory));

        var load = LoadByAnotherAsync(trial, [new Api.V1.ParameterValue { Name = "velocityGain", Value = 90 }, new Api.V1.ParameterValue { Name = "positionGain", Value = 12 }]);
        await trial.UntilAsync("the load begun", () => Task.FromResult(File.Exists(memory)));
        trial.Serve.Signal(Signals.Terminate);
        var ended = await trial.Serve.EndAsync();
        Assert.True(ended.ExitCode == 0, ended.ToString());
        await Assert.ThrowsAnyAsync<Grpc.Core.RpcException>(() => load);

        trial.StartServe();
        await trial.SeeAsync("the dibber held", status => TrialMachine.Axis(status, "dibber") is var axis
            && axis.GetProperty("state").GetString() == "Faulted" && axis.GetProperty("fault").GetString() == "PARAMETERS_INCOMPLETE");
        var refused = await trial.RunAsync("reset", "dibber");
        Assert.Equal(1, refused.ExitCode);
        Assert.Contains("loaded only in part: load it again", refused.Error, StringComparison.Ordinal);
        Assert.Contains("\"velocityGain\"", await File.ReadAllTextAsync(memory, TestContext.Current.CancellationToken), StringComparison.Ordinal);

        // What the drive has now, laid beside itself: nothing is to write, and still it is not whole.
        var cutFile = Path.Combine(Path.GetDirectoryName(trial.MachineFile)!, "cut.drive-parameters.json");
        Assert.Equal(0, (await trial.RunAsync("drive", "save", "dibber", "--file", cutFile)).ExitCode);
        var plan = await trial.RunAsync("drive", "load", "dibber", "--file", cutFile);
        Assert.True(plan.ExitCode == 1, plan.ToString());
        Assert.Contains("dibber is held because a load was cut; --confirm loads the set to its end", plan.Error, StringComparison.Ordinal);

        var loaded = await trial.RunAsync("drive", "load", "dibber", "--file", file, "--confirm", "--json");
        Assert.True(loaded.ExitCode == 0, loaded.ToString());
        Assert.True(Json(loaded).GetProperty("saved").GetBoolean(), loaded.ToString());
        Assert.True(Json(loaded).GetProperty("reset").GetBoolean(), loaded.ToString());
        var axis = await trial.AxisAsync("dibber");
        Assert.Equal(("Disabled", false), (axis.GetProperty("state").GetString(), axis.GetProperty("referenced").GetBoolean()));
        Assert.DoesNotContain("velocityGain", await File.ReadAllTextAsync(memory, TestContext.Current.CancellationToken), StringComparison.Ordinal);

        trial.Serve.Signal(Signals.Terminate);
        Assert.Equal(0, (await trial.Serve.EndAsync()).ExitCode);
        var kept = new HistoryReader(Path.Combine(trial.StateFolder, "history.db"))
            .Query(new HistoryFilter { Kinds = [RecordKind.Command, RecordKind.Fault], Axis = "dibber", Limit = 100 }).Records.Select(stored => stored.Record).ToArray();
        var cut = kept.OfType<CommandRecord>().Single(record => record is { Outcome: Outcome.Failed } && record.Command.StartsWith("load ", StringComparison.Ordinal));
        Assert.Contains("the supervisor ended", cut.Message, StringComparison.Ordinal);
        Assert.Contains(kept, record => record is FaultRecord { Code: Records.Faults.FaultCode.ParametersIncomplete });
    }

    private static async Task LoadByAnotherAsync(TrialMachine trial, Api.V1.ParameterValue[] values)
    {
        var cancelled = TestContext.Current.CancellationToken;
        using var daemon = await DaemonConnection.OpenAsync(trial.Socket, cancelled);
        await using var authority = await HeldAuthority.TakeAsync(daemon, "a panel", cancelled);
        using var mode = daemon.Motion.ChooseMode(new Api.V1.ChooseModeRequest { AuthorityToken = authority.Token, Mode = Api.V1.Mode.Maintenance }, cancellationToken: cancelled);
        while (await mode.ResponseStream.MoveNext(cancelled))
        {
        }

        using var load = daemon.Drive.WriteParameters(
            new Api.V1.WriteParametersRequest { AuthorityToken = authority.Token, Axis = "dibber", Values = { values } }, cancellationToken: cancelled);
        while (await load.ResponseStream.MoveNext(cancelled))
        {
        }
    }

    private static JsonElement Json(Said said) => JsonDocument.Parse(said.Output).RootElement;
}
