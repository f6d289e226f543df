using System.Text.Json;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>A gripper on an output of the dibber's drive: set by the verb, and held by a daemon that is killed and started anew.</summary>
[Collection(ProcessTests.Name)]
public sealed class DriveOutputTests
{
    private const int OutputsRegister = 75;
    private const byte Dibber = 3;

    [Fact]
    public async Task Kill_GripperOn_HoldsAndIsReadBackByTheNextRun()
    {
        await using var trial = await TrialMachine.StartAsync(edit: WithGripper, editDrive: ReadBack);
        var set = await trial.RunAsync("output", "gripper", "on");
        Assert.True(set is { ExitCode: 0, Output: "output gripper on done\n" }, set.ToString());
        var unknown = await trial.RunAsync("output", "griper", "on", "--json");
        Assert.True(unknown.ExitCode == 1 && unknown.Output.Contains("UNKNOWN_OUTPUT", StringComparison.Ordinal), unknown.ToString());

        await trial.KillServeAsync();
        Assert.Equal(1, Register(trial));

        trial.StartServe();
        await trial.SeeAsync("the gripper read back", status => Gripper(status) is var gripper
            && gripper.GetProperty("on").ValueKind == JsonValueKind.True && gripper.GetProperty("confirmed").GetBoolean());
        var off = await trial.RunAsync("output", "dibber.output1", "off");
        Assert.True(off.ExitCode == 0, off.ToString());
        await trial.KillServeAsync();
        Assert.Equal(0, Register(trial));
    }

    private static JsonElement Gripper(JsonElement status) => status.GetProperty("outputs")[0];

    private static string WithGripper(string machine) => machine.Replace(
        "\"interlocks\"",
        """ "outputs": [ { "name": "gripper", "output": "dibber.output1", "atStop": "hold", "atDisable": "hold", "atFault": "hold", "atLoss": "hold" } ], "interlocks" """,
        StringComparison.Ordinal);

    private static string ReadBack(string drive) => drive
        .Replace("\"register\": 75, \"type\": \"u16\"", "\"register\": 75, \"type\": \"u16\", \"readBack\": true", StringComparison.Ordinal)
        .Replace("\"reaction\": \"quickStopThenOff\"", "\"reaction\": \"quickStopThenOff\", \"outputs\": \"hold\"", StringComparison.Ordinal);

    /// <summary>Asks the drive itself.</summary>
    private static int Register(TrialMachine trial)
    {
        var line = new LineSettings(115_200, LineParity.None, 1, GapRule.Standard, default);
        var opening = SerialLink.Open(trial.Link("line-b"), line);
        Assert.True(opening.Link is not null, opening.Reason);
        using var owned = opening.Link;
        var driver = new RtuMasterDriver(new RtuMaster(line), owned, MonotonicClock.System);
        var transaction = new Transaction { ReplyTimeout = TimeSpan.FromSeconds(1) };
        transaction.Read(Dibber, 3, OutputsRegister, 1);
        Assert.Equal(TransactionResult.Reply, driver.Run(transaction));
        return transaction.ReplyRegister(0);
    }
}
