using System.Text.Json;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>What outputs do at the loss of the daemon: their modules are asked on the wire itself.</summary>
[Collection(ProcessTests.Name)]
public sealed class OutputTests
{
    private const byte Gripper = 20;
    private const byte Blower = 21;

    [Fact]
    public async Task Gripper_DaemonKilled_HoldsAndIsFoundHeldByTheNextRun()
    {
        await using var trial = await TrialMachine.StartAsync(WithOutputs);

        // Where this computer stalls for longer than the modules' own time-out, both are as if lost and are set again.
        await trial.UntilAsync("gripper and blower on", async () =>
        {
            await trial.RunAsync("output", "gripper", "on");
            await trial.RunAsync("output", "blower", "on");
            return await trial.StatusAsync() is { } status && (On(status, "gripper"), On(status, "blower")) is (true, true);
        });
        await trial.KillServeAsync();

        // Any frame feeds the modules' time-out (2.5 s): nobody speaks to them while it runs out.
        await Task.Delay(TimeSpan.FromSeconds(4), TestContext.Current.CancellationToken);
        Assert.Equal((true, false), (IsOn(trial, Gripper), IsOn(trial, Blower)));

        trial.StartServe();
        await trial.SeeAsync("the gripper found on, the blower off", status => (On(status, "gripper"), On(status, "blower")) is (true, false));
        await trial.SeeAsync("the gantry met", status => TrialMachine.Axis(status, "gantry").GetProperty("online").GetBoolean());
        await trial.KillServeAsync();
        Assert.Equal((true, false), (IsOn(trial, Gripper), IsOn(trial, Blower)));
    }

    /// <summary>Two modules that differ in what they do when nobody speaks to them.</summary>
    private static string WithOutputs(string machine) => machine.Replace("\"machine\":", $$"""
        "modules": [ {{Module("held", Gripper, "hold")}}, {{Module("dropped", Blower, "off")}} ],
          "outputs": [
            { "name": "gripper", "output": "module:held/0", "axes": ["gantry"], "atStop": "hold", "atDisable": "hold", "atFault": "hold", "atLoss": "hold" },
            { "name": "blower", "output": "module:dropped/0", "axes": ["gantry"], "atStop": "hold", "atDisable": "hold", "atFault": "hold", "atLoss": "off" } ],
          "machine":
        """, StringComparison.Ordinal);

    private static string Module(string name, byte address, string reaction) => $$"""
        { "name": "{{name}}", "port": "line-b", "address": {{address}}, "outputs": { "function": 15, "start": 0, "bits": 8 },
              "communicationTimeout": { "register": 100, "timeoutMs": 2500, "reaction": "{{reaction}}" } }
        """;

    private static bool? On(JsonElement status, string name) =>
        status.GetProperty("outputs").EnumerateArray().First(output => output.GetProperty("name").GetString() == name).GetProperty("on") is { ValueKind: not JsonValueKind.Null } on
            ? on.GetBoolean()
            : null;

    private static bool IsOn(TrialMachine trial, byte unit)
    {
        var line = new LineSettings(115_200, LineParity.None, 1, GapRule.Standard, default);
        var opening = SerialLink.Open(trial.Link("line-b"), line);
        Assert.True(opening.Link is not null, opening.Reason);
        using var owned = opening.Link;
        var driver = new RtuMasterDriver(new RtuMaster(line), owned, MonotonicClock.System);
        var transaction = new Transaction { ReplyTimeout = TimeSpan.FromSeconds(1) };

        // A bench that is kept from running answers late.
        for (var attempt = 1; ; attempt++)
        {
            transaction.ReadBits(unit, 1, 0, 8);
            var result = driver.Run(transaction);
            if (result == TransactionResult.Reply)
            {
                return transaction.ReplyBit(0);
            }

            Assert.True(attempt < 5, $"module {unit} did not answer: {result}");
        }
    }
}
