namespace Supervisor.Daemon.Tests.Processes;

/// <summary>A diagnosis beside a daemon and without one.</summary>
[Collection(ProcessTests.Name)]
public sealed class DiagnoseTests
{
    [Fact]
    public async Task Diagnose_BesideADaemon_RefusesAndNamesItUntilItIsGone()
    {
        await using var trial = await TrialMachine.StartAsync();

        var refused = await DiagnoseAsync(trial);

        Assert.Equal(1, refused.ExitCode);
        Assert.Contains($"process {trial.Serve.Id}", refused.Error, StringComparison.Ordinal);
        Assert.Empty(refused.Output);
        Assert.False(trial.Serve.HasEnded);

        await trial.KillServeAsync();
        await trial.UntilAsync("nothing wrong", async () => await DiagnoseAsync(trial) is { ExitCode: 0 } said && said.Output.Contains("nothing wrong was found", StringComparison.Ordinal));
    }

    private static Task<Said> DiagnoseAsync(TrialMachine trial) => trial.RunAsync(
        "diagnose", trial.MachineFile, "--device", $"line-a={trial.Link("line-a")}", "--device", $"line-b={trial.Link("line-b")}");
}
