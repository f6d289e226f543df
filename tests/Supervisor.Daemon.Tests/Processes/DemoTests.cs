using System.Text.Json;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>The demo as a person starts it.</summary>
[Collection(ProcessTests.Name)]
[Trait(Daemon.ProgramTrait, Daemon.Beside)]
public sealed class DemoTests
{
    [Fact]
    public async Task Demo_OneTray_EndsWellAndCounts()
    {
        var socket = Path.Combine(Directory.CreateTempSubdirectory("demo-").FullName, "api.sock");

        var said = await Daemon.RunAsync(new Dictionary<string, string>(), "demo", "--cycles", "1", "--json", "--socket", socket);

        Assert.True(said.ExitCode == 0, said.ToString());
        var count = JsonDocument.Parse(said.Output.TrimEnd().Split('\n')[^1]).RootElement;
        Assert.Equal(1, count.GetProperty("cycles").GetInt32());
        Assert.Equal(1, count.GetProperty("orderedStops").GetInt32());
        Assert.Equal(1, count.GetProperty("faults").GetInt32());
        Assert.Equal(1, count.GetProperty("recoveries").GetInt32());
        Assert.InRange(count.GetProperty("refusals").GetInt32(), 1, 10);
        Assert.True(count.GetProperty("exchanges").GetInt64() > 100);
        Assert.True(count.GetProperty("exchangeMs").GetProperty("p50").GetDouble() > 0);
        Assert.Contains("POSITION_LIMIT", said.Error, StringComparison.Ordinal);
        Directory.Delete(Path.GetDirectoryName(socket)!, recursive: true);
    }

    [Fact]
    public async Task Demo_Interrupted_ClearsUp()
    {
        var folder = Directory.CreateTempSubdirectory("demo-").FullName;
        await using var demo = Daemon.Start(new Dictionary<string, string> { ["TMPDIR"] = folder }, "demo", "--json", "--socket", Path.Combine(folder, "api.sock"));
        using var limit = new CancellationTokenSource(Daemon.Patience);
        while (!demo.Error.Contains("homing", StringComparison.Ordinal))
        {
            await Task.Delay(50, limit.Token);
        }

        demo.Signal(Signals.Interrupt);
        var said = await demo.EndAsync();

        Assert.True(said.ExitCode == 130, said.ToString());
        Assert.Equal("", said.Output);
        Assert.Empty(Directory.EnumerateDirectories(folder));
        Directory.Delete(folder, recursive: true);
    }
}
