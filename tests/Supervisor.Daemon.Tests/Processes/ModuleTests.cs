using System.Text.Json;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>A guard wired to a module, on a real daemon and bench.</summary>
[Collection(ProcessTests.Name)]
public sealed class ModuleTests
{
    private const string Terminal =
        """ "modules": [ { "name": "terminal", "port": "line-b", "address": 20, "staleMs": 2500, "inputs": { "function": 4, "start": 0, "bits": 16, "names": { "front guard": 3 } } } ], """;

    [Fact]
    public async Task Guard_OnAModuleOfAnotherPort_StopsAndSaysWhichAndWhatToDo()
    {
        await using var trial = await TrialMachine.StartReadyAsync(WithTerminal);

        trial.Bench("input module:terminal/front guard 0");
        var open = await trial.SeeAsync("gantry off, the guard open", status => Guard(status).GetProperty("open").GetBoolean() && TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() == "Disabled");
        Assert.Equal("module:terminal/front guard", Guard(open).GetProperty("openInputs")[0].GetString());
        var refused = await trial.RunAsync("enable", "gantry");
        Assert.Equal(1, refused.ExitCode);
        Assert.Contains("module:terminal/front guard", refused.Error, StringComparison.Ordinal);

        trial.Bench("input module:terminal/front guard 1");
        await trial.SeeAsync("closed, waiting for its reset", status => !Guard(status).GetProperty("open").GetBoolean() && Guard(status).GetProperty("needsReset").GetBoolean());
        await trial.PressResetAsync();
        await trial.SeeAsync("reset", status => status.GetProperty("motionPermitted").GetBoolean());

        trial.Bench("unplug module:terminal");
        var silent = await trial.SeeAsync("silent is open", status => Guard(status).GetProperty("open").GetBoolean());
        await trial.SeeAsync("the module told as silent", status => !status.GetProperty("modules")[0].GetProperty("online").GetBoolean());
        Assert.Equal("module:terminal/front guard (silent)", Guard(silent).GetProperty("openInputs")[0].GetString());
        await trial.UntilAsync("the loss in the history", async () =>
        {
            var said = await trial.RunAsync("faults", "--json");
            return said.ExitCode == 0 && JsonDocument.Parse(said.Output).RootElement.GetProperty("faults").EnumerateArray().Any(fault =>
                fault.GetProperty("fault").GetString() == "MODULE_LOST" && fault.GetProperty("note").GetString() == "module terminal" && fault.GetProperty("port").GetString() == "line-b");
        });

        trial.Bench("plug module:terminal");
        await trial.SeeAsync("answers again", status => !Guard(status).GetProperty("open").GetBoolean() && status.GetProperty("modules")[0].GetProperty("online").GetBoolean());
    }

    private static string WithTerminal(string machine) => machine
        .Replace("\"interlocks\": [", Terminal + "\n  \"interlocks\": [", StringComparison.Ordinal)
        .Replace("\"gantry.input1\"", "\"module:terminal/front guard\"", StringComparison.Ordinal);

    private static JsonElement Guard(JsonElement status) => status.GetProperty("interlocks").EnumerateArray().Single(each => each.GetProperty("name").GetString() == "front guard");
}
