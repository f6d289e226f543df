using System.Text.Json;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Stops;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>A communication time-out proven by the verb on real pseudo-terminals, and what is known of it afterwards and after a restart.</summary>
[Collection(ProcessTests.Name)]
public sealed class TimeoutProofTests
{
    private static readonly string[] Prove = ["drive", "prove-timeout", "dibber", "--by", "100", "--velocity", "20"];

    [Fact]
    public async Task ProveTimeout_OfADriveThatActs_IsTrueOfThePlantAndKept()
    {
        // Interlocks trip where this computer stalls; what they forbid is shown in simulated time.
        await using var trial = await TrialMachine.StartReadyAsync(text => $"{text[..text.IndexOf("\"interlocks\"", StringComparison.Ordinal)]}\"interlocks\": [] }}");
        Assert.Equal(("never", 2500), await StandingAsync(trial));
        Assert.Contains("time-out of dibber: 2500 ms, quickStopThenOff, never proven", (await CheckAsync(trial)).Output, StringComparison.Ordinal);
        await AssertRefusedAsync(trial, "NOT_IN_THIS_MODE", [.. Prove, "--confirm"]);
        Assert.Equal(0, (await trial.RunAsync("mode", "maintenance")).ExitCode);
        await AssertRefusedAsync(trial, "NEEDS_CONFIRMATION", Prove);
        await AssertRefusedAsync(trial, "COMPANION_ENERGISED", [.. Prove, "--confirm"]);
        Assert.Equal(0, (await trial.RunAsync("disable", "gantry")).ExitCode);

        // A computer that stalls for longer than the tolerance lets the bench's drive act late: another attempt follows.
        JsonElement told = default;
        await trial.UntilAsync("a proof that is passed", async () =>
        {
            var said = await trial.RunAsync([.. Prove, "--confirm", "--json"]);
            told = JsonDocument.Parse(said.Output).RootElement;
            if (said.ExitCode != 0)
            {
                await trial.RunAsync("reset", "dibber");
                await trial.RunAsync("enable", "dibber");
                await trial.RunAsync("move", "dibber", "0", "--velocity", "20");
            }

            return said.ExitCode == 0;
        });

        var proof = told.GetProperty("proof");
        Assert.Equal("passed", proof.GetProperty("verdict").GetString());
        Assert.True(proof.GetProperty("silenceMs").GetDouble() > 2500);
        Assert.InRange(proof.GetProperty("distance").GetDouble(), 40, 90);
        Assert.Contains("its time-out fault was reset, and dibber is disabled", told.GetProperty("message").GetString(), StringComparison.Ordinal);
        var axis = await trial.AxisAsync("dibber");
        Assert.Equal(("Disabled", true), (axis.GetProperty("state").GetString(), axis.GetProperty("referenced").GetBoolean()));

        // No fault of anybody, and listed for whoever signs the machine off.
        var faults = await trial.RunAsync("faults", "--axis", "dibber", "--json");
        Assert.DoesNotContain("DRIVE_COMMUNICATION_TIMEOUT", faults.Output, StringComparison.Ordinal);
        var listed = JsonDocument.Parse((await trial.RunAsync("drive", "timeouts", "--axis", "dibber", "--json")).Output).RootElement.GetProperty("proofs");
        Assert.Equal("passed", listed[0].GetProperty("verdict").GetString());
        Assert.Contains("(drive prove-timeout, process", listed[0].GetProperty("holder").GetString(), StringComparison.Ordinal);
        Assert.Contains("dibber: passed: time-out 2500 ms, quickStopThenOff", (await trial.RunAsync("drive", "timeouts")).Output, StringComparison.Ordinal);
        Assert.Contains("communication time-out 2500 ms: proven", (await trial.RunAsync("drive", "show", "dibber")).Output, StringComparison.Ordinal);
        Assert.Equal(("proven", 2500), await StandingAsync(trial));

        // Known after a restart; another time-out in the file is another one to prove.
        trial.Serve.Signal(Signals.Terminate);
        Assert.Equal(0, (await trial.Serve.EndAsync()).ExitCode);
        var kept = Assert.IsType<TimeoutProofRecord>(new HistoryReader(Path.Combine(trial.StateFolder, "history.db"))
            .Query(new HistoryFilter { Kinds = [RecordKind.TimeoutProof], Axis = "dibber", Limit = 1 }).Records[0].Record);
        Assert.Equal((TimeoutVerdict.Passed, TimeSpan.FromMilliseconds(2500)), (kept.Verdict, kept.Timeout));
        Assert.Contains("time-out of dibber: 2500 ms, quickStopThenOff, proven", (await CheckAsync(trial)).Output, StringComparison.Ordinal);
        var text = await File.ReadAllTextAsync(trial.MachineFile, TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(trial.MachineFile, text.Replace("\"communicationTimeoutMs\": 2500", "\"communicationTimeoutMs\": 2400", StringComparison.Ordinal), TestContext.Current.CancellationToken);
        trial.StartServe();
        await trial.SeeAsync("the dibber online", status => TrialMachine.Axis(status, "dibber").GetProperty("online").GetBoolean());
        Assert.Equal(("outdated", 2400), await StandingAsync(trial));
    }

    private static async Task<(string? State, double TimeoutMs)> StandingAsync(TrialMachine trial)
    {
        var proof = (await trial.AxisAsync("dibber")).GetProperty("timeoutProof");
        return (proof.GetProperty("state").GetString(), proof.GetProperty("timeoutMs").GetDouble());
    }

    private static Task<Said> CheckAsync(TrialMachine trial) => trial.RunAsync("check", trial.MachineFile, "--state-dir", trial.StateFolder);

    private static async Task AssertRefusedAsync(TrialMachine trial, string reason, params string[] arguments)
    {
        var said = await trial.RunAsync([.. arguments, "--json"]);
        Assert.Equal(1, said.ExitCode);
        Assert.Equal(("refused", reason), (JsonDocument.Parse(said.Output).RootElement.GetProperty("outcome").GetString(), JsonDocument.Parse(said.Output).RootElement.GetProperty("reason").GetString()));
    }
}
