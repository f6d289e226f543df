using System.Text.Json;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>Alarms on a real daemon: who knows of one, and what is out of service, outlives any end of it.</summary>
[Collection(ProcessTests.Name)]
public sealed class AlarmTests
{
    [Fact]
    public async Task Acknowledged_ThenKilled_IsStillAcknowledgedByWhom()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        trial.Bench("fault gantry 0x7121");
        await trial.SeeAsync("gantry faulted", status => TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() == "Faulted");
        await trial.UntilAsync("the alarm", async () => await FindAsync(trial, 208, "gantry") is { } found && State(found) == "unacknowledgedActive");
        var summary = (await trial.StatusAsync())!.Value.GetProperty("alarms");
        Assert.True(summary.GetProperty("unacknowledged").GetInt32() >= 1, summary.ToString());

        var none = await trial.RunAsync("acknowledge", "208:tray");
        Assert.Equal((1, true), (none.ExitCode, none.Error.Contains("UNKNOWN_ALARM", StringComparison.Ordinal)));
        var known = await trial.RunAsync("acknowledge", "208:gantry", "--by", "Ada", "--json");
        Assert.True(known.ExitCode == 0, known.ToString());
        Assert.True(JsonDocument.Parse(known.Output).RootElement.GetProperty("kept").GetBoolean(), known.ToString());
        var taken = await trial.RunAsync("alarms", "out-of-service", "101:tray", "--for", "2h", "--reason", "its cable is being laid anew", "--by", "Ada");
        Assert.True(taken.ExitCode == 0, taken.ToString());
        await trial.KillServeAsync();

        trial.StartServe();
        await trial.UntilAsync("the alarm after the restart", async () => await FindAsync(trial, 208, "gantry") is not null);

        // Whatever the drives tell at their first contact, a person has seen this one.
        await trial.SeeAsync("every drive online", status => status.GetProperty("axes").EnumerateArray().All(axis => axis.GetProperty("online").GetBoolean()));
        await trial.SeeAsync("gantry faulted again", status => TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() == "Faulted");
        var alarm = (await FindAsync(trial, 208, "gantry"))!.Value;
        Assert.True(State(alarm) == "acknowledgedActive", alarm.ToString());
        Assert.Equal("Ada", alarm.GetProperty("acknowledged").GetProperty("by").GetString());
        var shelf = (await FindAsync(trial, 101, "tray"))!.Value.GetProperty("outOfService");
        Assert.Equal(("Ada", "its cable is being laid anew"), (shelf.GetProperty("by").GetString(), shelf.GetProperty("reason").GetString()));
        Assert.InRange(shelf.GetProperty("remainingS").GetDouble(), 3_600, 7_200);

        var told = await trial.RunAsync("alarms");
        Assert.Contains("acknowledged by Ada", told.Output, StringComparison.Ordinal);
        Assert.Contains("its cable is being laid anew", told.Output, StringComparison.Ordinal);
        var history = await trial.RunAsync("history", "--kind", "alarm", "--json");
        Assert.Equal(2, history.Output.Trim().Split('\n').Length);
        Assert.Contains("acknowledged by Ada", history.Output, StringComparison.Ordinal);

        await trial.UntilAsync("the reset", async () =>
        {
            await trial.RunAsync("reset");
            return await FindAsync(trial, 208, "gantry") is null;
        });
        Assert.Equal(0, (await trial.RunAsync("alarms", "in-service", "101:tray")).ExitCode);
        Assert.Equal(1, (await trial.RunAsync("alarms", "in-service", "101:tray")).ExitCode);
    }

    [Fact]
    public async Task Verbs_GivenWhatCanNotBe_SayWhatCan()
    {
        await using var trial = await TrialMachine.StartAsync(
            file => file.Replace("\"machine\":", "\"outOfService\": { \"longestMinutes\": 60 },\n  \"machine\":", StringComparison.Ordinal));
        var nothing = await trial.RunAsync("acknowledge");
        Assert.Equal((2, true), (nothing.ExitCode, nothing.Error.Contains("--all", StringComparison.Ordinal)));
        var late = await trial.RunAsync("alarms", "out-of-service", "101:tray", "--for", "2h", "--reason", "test");
        Assert.Equal((1, true), (late.ExitCode, late.Error.Contains("60 min", StringComparison.Ordinal)));
        var grave = await trial.RunAsync("alarms", "out-of-service", "401:tray", "--for", "16m", "--reason", "test");
        Assert.Equal((1, true), (grave.ExitCode, grave.Error.Contains("15 min", StringComparison.Ordinal)));
        var name = await trial.RunAsync("alarms", "out-of-service", "101:dribbler", "--for", "10m", "--reason", "test");
        Assert.Equal((1, true), (name.ExitCode, name.Error.Contains("dribbler", StringComparison.Ordinal)));
        var time = await trial.RunAsync("alarms", "out-of-service", "101:tray", "--for", "soon", "--reason", "test");
        Assert.Equal((2, true), (time.ExitCode, time.Error.Contains("2h", StringComparison.Ordinal)));
        var key = await trial.RunAsync("alarms", "out-of-service", "tray", "--for", "10m", "--reason", "test");
        Assert.Equal((2, true), (key.ExitCode, key.Error.Contains("NUMBER:NAME", StringComparison.Ordinal)));
        var axis = await trial.RunAsync("alarms", "--axis", "dribbler");
        Assert.Equal((1, true), (axis.ExitCode, axis.Error.Contains("dibber", StringComparison.Ordinal)));
    }

    private static async Task<JsonElement?> FindAsync(TrialMachine trial, int number, string source)
    {
        var said = await trial.RunAsync("alarms", "--json");
        return said.ExitCode != 0 ? null : JsonDocument.Parse(said.Output).RootElement.GetProperty("alarms").EnumerateArray()
            .Where(alarm => alarm.GetProperty("number").GetInt32() == number && alarm.GetProperty("source").GetString() == source)
            .Select(alarm => (JsonElement?)alarm).FirstOrDefault();
    }

    private static string? State(JsonElement alarm) => alarm.GetProperty("state").GetString();
}
