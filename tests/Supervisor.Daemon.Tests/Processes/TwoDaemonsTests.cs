namespace Supervisor.Daemon.Tests.Processes;

/// <summary>Two daemons on the same devices.</summary>
[Collection(ProcessTests.Name)]
public sealed class TwoDaemonsTests
{
    [Fact]
    public async Task SecondDaemon_OnTheSameDevices_IsToldWhoHoldsThemAndGetsThemOnceTheFirstIsGone()
    {
        await using var trial = await TrialMachine.StartAsync();
        var socket = trial.Socket + "2";
        await using var second = trial.Start(
            "serve", "--config", trial.MachineFile, "--device", $"line-a={trial.Link("line-a")}", "--device", $"line-b={trial.Link("line-b")}",
            "--socket", socket, "--state-dir", trial.StateFolder + "2");

        await trial.UntilAsync("the second is told", async () => await StatusAsync(trial, socket) is { ExitCode: 0 } said
            && said.Output.Contains($"line-a: closed", StringComparison.Ordinal)
            && said.Output.Contains($"held by process {trial.Serve.Id} ", StringComparison.Ordinal));
        Assert.False(trial.Serve.HasEnded);

        await trial.KillServeAsync();
        await trial.UntilAsync("the second has the devices", async () => await StatusAsync(trial, socket) is { ExitCode: 0 } said
            && said.Output.Contains("line-a: open", StringComparison.Ordinal)
            && !said.Output.Contains("held by process", StringComparison.Ordinal));
    }

    private static Task<Said> StatusAsync(TrialMachine trial, string socket) => trial.RunAsync("status", "--server", socket);
}
