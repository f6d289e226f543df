using System.Text.Json;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary><c>scan</c> and <c>line-test</c> as processes on the bench's pseudo-terminals: beside a daemon, without one, and interrupted.</summary>
[Collection(ProcessTests.Name)]
public sealed class LineVerbTests
{
    // Patient: what is found is shown, never how fast.
    private static readonly string[] Patient = ["--timeout-ms", "1000", "--parity", "none", "--baud", "115200"];

    [Fact]
    public async Task ScanAndLineTest_RefuseBesideADaemonAndFindTheDrivesWithoutIt()
    {
        await using var trial = await TrialMachine.StartAsync();
        var line = trial.Link("line-a");

        foreach (var refused in new[] { await trial.RunAsync("scan", line), await trial.RunAsync("line-test", line, "1") })
        {
            Assert.True(refused.ExitCode == 1 && refused.Error.Contains($"process {trial.Serve.Id}", StringComparison.Ordinal), refused.ToString());
        }

        Assert.False(trial.Serve.HasEnded);
        await trial.KillServeAsync();

        Said scan = null!;
        await trial.UntilAsync("the scan finds a drive", async () => (scan = await trial.RunAsync(["scan", line, "--first", "1", "--last", "3", "--json", .. Patient])).ExitCode == 0);
        using var found = JsonDocument.Parse(scan.Output);
        var pass = Assert.Single(found.RootElement.GetProperty("lines").EnumerateArray());
        Assert.Equal(3, pass.GetProperty("asked").GetInt32());
        var address = pass.GetProperty("addresses")[0].GetProperty("address").GetInt32();

        var test = await trial.RunAsync(["line-test", line, $"{address}", "--count", "50", "--json", .. Patient]);
        Assert.True(test.ExitCode is 0 or 1, test.ToString());
        using var measured = JsonDocument.Parse(test.Output);
        Assert.Equal(("echo", 50), (measured.RootElement.GetProperty("way").GetString(), measured.RootElement.GetProperty("exchanges").GetInt32()));
        Assert.Equal(0, measured.RootElement.GetProperty("badCrc").GetInt32() + measured.RootElement.GetProperty("wrongEcho").GetInt32());
    }

    [Fact]
    public async Task AdapterThatHearsItself_IsNamedByTheDaemonItsHistoryAndTheVerbs()
    {
        await using var trial = await TrialMachine.StartAsync();
        await trial.SeeAsync("the gantry met", status => TrialMachine.Axis(status, "gantry").GetProperty("online").GetBoolean());

        trial.Bench("echo line-b 1");
        trial.Bench("echo line-a 1");
        var told = await trial.SeeAsync("both adapters named", status =>
            status.GetProperty("ports").EnumerateArray().All(port => port.GetProperty("problem").GetString()!.Contains("hears its own requests", StringComparison.Ordinal)));
        Assert.All(told.GetProperty("ports").EnumerateArray(), port => Assert.Equal("open", port.GetProperty("state").GetString()));
        await trial.SeeAsync("nobody online", status => status.GetProperty("axes").EnumerateArray().All(axis => !axis.GetProperty("online").GetBoolean()));
        await trial.UntilAsync("in the history", async () =>
        {
            var said = await trial.RunAsync("faults", "--json");
            return said.ExitCode == 0 && JsonDocument.Parse(said.Output).RootElement.GetProperty("faults").EnumerateArray().Any(fault =>
                fault.GetProperty("fault").GetString() == "ADAPTER_HEARS_ITSELF" && fault.GetProperty("port").GetString() == "line-a");
        });

        trial.Bench("echo line-a 0");
        await trial.SeeAsync("the gantry met again", status => TrialMachine.Axis(status, "gantry").GetProperty("online").GetBoolean());
        trial.Bench("echo line-a 1");
        await trial.KillServeAsync();

        foreach (var verb in (string[][])[["scan", trial.Link("line-a"), "--first", "1", "--last", "3", .. Patient], ["line-test", trial.Link("line-a"), "1", "--timeout-ms", "1000", "--parity", "none"]])
        {
            var said = await trial.RunAsync(verb);
            Assert.True(said.ExitCode == 1 && $"{said.Output}{said.Error}".Contains("hears its own requests", StringComparison.Ordinal), said.ToString());
        }
    }

    [Fact]
    public async Task Scan_Interrupted_EndsWith130AndSaysSo()
    {
        await using var trial = await TrialMachine.StartAsync();
        await trial.KillServeAsync();
        await using var scan = Daemon.Start(trial.Variables, ["scan", trial.Link("line-a"), .. Patient]);
        // Silent addresses take a second each: it is in their midst once it has told what it is about to do.
        await trial.UntilAsync("the scan has begun", () => Task.FromResult(scan.Output.Contains("reads only", StringComparison.Ordinal)));

        scan.Signal(Signals.Interrupt);
        var said = await scan.EndAsync();

        Assert.True(said.ExitCode == 130, said.ToString());
        Assert.Contains("interrupted", said.Output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("scan", "/dev/nowhere", "--first", "9", "--last", "3")]
    [InlineData("scan", "/dev/nowhere", "--baud", "fast")]
    [InlineData("line-test", "/dev/nowhere", "248")]
    [InlineData("line-test", "/dev/nowhere")]
    public async Task WrongCommandLine_IsUsage(params string[] arguments)
    {
        var said = await Daemon.RunAsync(new Dictionary<string, string>(), arguments);

        Assert.True(said.ExitCode == 2 && said.Output.Length == 0, said.ToString());
    }

    [Fact]
    public async Task NoSuchDevice_IsToldAndFails()
    {
        foreach (var arguments in (string[][])[["scan", "/dev/nowhere"], ["scan", "/dev/nowhere", "--first", "15"], ["line-test", "/dev/nowhere", "1"]])
        {
            var said = await Daemon.RunAsync(new Dictionary<string, string>(), arguments);

            Assert.True(said.ExitCode == 1 && said.Error.Contains("no such device", StringComparison.Ordinal), said.ToString());
        }
    }
}
