using System.Text.Json;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>An alarm, a counter, lights and horn of the machine file on a real daemon and bench: the input is a file, the outputs are a module's.</summary>
[Collection(ProcessTests.Name)]
public sealed class OwnAlarmTests
{
    private const string Sections =
        """
        "modules": [ { "name": "terminal", "port": "line-b", "address": 20, "staleMs": 2500, "outputs": { "function": 15, "start": 0, "bits": 8 } } ],
          "languages": ["en", "de"],
          "counters": [ { "name": "trays", "input": { "input": "file:tray", "counts": "closings", "staleMs": 2500 } } ],
          "alarms": [
            { "number": 1000, "name": "hopper low", "priority": "medium", "cause": "The hopper is nearly empty.", "remedy": "Fill the hopper.",
              "texts": { "de": { "name": "Trichter leer", "cause": "Der Trichter ist fast leer.", "remedy": "Nachfüllen." } },
              "input": { "input": "file:hopper", "raisedWhile": "open", "onDelayMs": 100, "whenSilent": "keep", "staleMs": 2500 } } ],
          "signals": {
            "lights": [ { "name": "trouble", "output": "module:terminal/0", "colour": "yellow", "text": "Trouble", "texts": { "de": "Störung" },
                          "steadyWhile": ["mediumAlarm"], "atLoss": "hold" } ],
            "horn": { "output": "module:terminal/1", "soundsFrom": "medium", "longestMs": 600000, "atLoss": "hold" } }
        }
        """;

    [Fact]
    public async Task Alarm_OfTheFile_LightsSoundsAndIsRecorded()
    {
        await using var trial = await TrialMachine.StartAsync(machine => machine[..machine.IndexOf("\"languages\":", StringComparison.Ordinal)] + Sections);
        var folder = Path.GetDirectoryName(trial.MachineFile)!;
        void Set(string input, bool closed) => File.WriteAllText(Path.Combine(folder, input), closed ? "1" : "0");

        Set("hopper", true);
        Set("tray", false);
        await DarkAsync(trial);

        Set("hopper", false);
        var lit = await trial.SeeAsync("light and horn on, as the module confirms", status => Light(status).GetProperty("on").ValueKind == JsonValueKind.True && Horn(status) == true);
        Assert.Equal(("steady", "mediumAlarm", "Trouble"), (Light(lit).GetProperty("look").GetString(), Light(lit).GetProperty("because")[0].GetString(), Light(lit).GetProperty("text").GetString()));
        var german = await trial.RunAsync("status", "--language", "de-AT");
        Assert.Contains("light trouble (yellow): on: Störung", german.Output, StringComparison.Ordinal);
        await trial.UntilAsync("the alarm in the history", async () =>
            (await trial.RunAsync("history")).Output.Contains("alarm 1000 raised: hopper low. Cause: The hopper is nearly empty. What to do: Fill the hopper.", StringComparison.Ordinal));

        var silenced = await trial.RunAsync("horn", "silence");
        Assert.Equal(0, silenced.ExitCode);
        await trial.SeeAsync("silent, the light still on", status => Light(status).GetProperty("on").ValueKind == JsonValueKind.True && Horn(status) == false);

        Set("hopper", true);
        await DarkAsync(trial);

        // Again, and acknowledged: the light tells what stands, the horn has called.
        Set("hopper", false);
        await trial.SeeAsync("horn on again", status => Horn(status) == true);
        var listed = await trial.RunAsync("alarms", "--language", "de");
        Assert.Contains("Trichter leer", listed.Output, StringComparison.Ordinal);
        Assert.Equal(0, (await trial.RunAsync("acknowledge", "1000")).ExitCode);
        await trial.SeeAsync("silent, the light on", status => Light(status).GetProperty("on").ValueKind == JsonValueKind.True && Horn(status) == false);
        Set("hopper", true);
        await DarkAsync(trial);
        Assert.Equal(0, (await trial.RunAsync("lamps", "test")).ExitCode);
        await trial.SeeAsync("the lamp test", status => Light(status).GetProperty("on").ValueKind == JsonValueKind.True);

        for (var i = 0; i < 3; i++)
        {
            Set("tray", true);
            var expected = i + 1;
            await trial.UntilAsync("counted", async () => await CountAsync(trial) == expected);
            Set("tray", false);
            await Task.Delay(300, TestContext.Current.CancellationToken);
        }

        trial.Serve.Signal(Signals.Terminate);
        await trial.Serve.EndAsync();
        trial.StartServe();
        await trial.UntilAsync("the count after a restart", async () => await CountAsync(trial) == 3);
        var reset = await trial.RunAsync("counters", "reset", "trays");
        Assert.Contains("trays is set back from 3 to 0", reset.Output, StringComparison.Ordinal);
        Assert.Equal(0, await CountAsync(trial));
        var unknown = await trial.RunAsync("counters", "reset", "trais");
        Assert.Equal(1, unknown.ExitCode);
        Assert.Contains("did you mean \"trays\"?", unknown.Error, StringComparison.Ordinal);
    }

    /// <summary>Where this computer stalled so long that an axis faulted, that is an alarm too: a person resets and acknowledges it.</summary>
    private static Task DarkAsync(TrialMachine trial) => trial.UntilAsync("dark and silent", async () =>
    {
        if (await trial.StatusAsync() is { } status && Light(status).GetProperty("on").ValueKind == JsonValueKind.False && Horn(status) == false)
        {
            return true;
        }

        await trial.RunAsync("reset");
        await trial.RunAsync("acknowledge", "--all");
        return false;
    });

    private static async Task<long?> CountAsync(TrialMachine trial)
    {
        var said = await trial.RunAsync("counters", "--json");
        return said.ExitCode == 0 ? JsonDocument.Parse(said.Output).RootElement.GetProperty("counters")[0].GetProperty("count").GetInt64() : null;
    }

    private static JsonElement Light(JsonElement status) => status.GetProperty("lights")[0];

    private static bool? Horn(JsonElement status) =>
        status.GetProperty("horn").GetProperty("on") is { ValueKind: not JsonValueKind.Null } on ? on.GetBoolean() && status.GetProperty("horn").GetProperty("sounds").GetBoolean() : null;
}
