using System.Text.RegularExpressions;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>Bad files: every error told, exit code 2, nothing started.</summary>
[Collection(ProcessTests.Name)]
public sealed class BadFileTests : IDisposable
{
    private static readonly Dictionary<string, string> NoVariables = [];
    private readonly string _folder = Directory.CreateTempSubdirectory("bad-").FullName;

    public BadFileTests()
    {
        foreach (var file in Directory.EnumerateFiles(Path.Combine(AppContext.BaseDirectory, "demo")))
        {
            File.Copy(file, Path.Combine(_folder, Path.GetFileName(file)));
        }
    }

    private string MachineFile => Path.Combine(_folder, "machine.json");

    private string Socket => Path.Combine(_folder, "api.sock");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Theory]
    [InlineData("\"baud\": 115200", "\"baud\": 0", "ports[0].baud")]
    [InlineData("\"position\": [0, 180]", "\"position\": [180, 0]", "axes[2].limits.position")]
    [InlineData("\"address\": 4", "\"address\": 1", "axes[3].address")]
    [InlineData("\"cycleMs\": 40", "\"cycleMss\": 40", "cycleMss")]
    [InlineData("\"port\": \"line-b\"", "\"port\": \"line-c\"", "axes[2].port")]
    [InlineData("\"definition\": \"reference.drive.json\"", "\"definition\": \"missing.drive.json\"", "missing.drive.json")]
    [InlineData("\"gantry.input1\"", "\"gantry.input99\"", "interlocks[1].inputs")]
    [InlineData("\"axes\": [", "\"axes\": [[[", "machine.json:")]
    public async Task Serve_OneError_IsToldWithItsPlace(string old, string bad, string named)
    {
        Edit((old, bad));

        var said = await ServeAsync();

        Assert.Equal(2, said.ExitCode);
        Assert.Contains(named, said.Error, StringComparison.Ordinal);
        Assert.All(Lines(said.Error), line => Assert.Matches(new Regex("^[^:]+\\.json:[0-9]+:[0-9]+: "), line));
        AssertNothingStarted();
    }

    [Fact]
    public async Task Serve_MissingFile_IsTold()
    {
        var said = await Daemon.RunAsync(NoVariables, "serve", "--config", Path.Combine(_folder, "none.json"), "--socket", Socket, "--state-dir", _folder);

        Assert.Equal(2, said.ExitCode);
        Assert.Contains("none.json", said.Error, StringComparison.Ordinal);
        AssertNothingStarted();
    }

    [Fact]
    public async Task Serve_SeveralErrors_AreAllTold()
    {
        Edit(("\"baud\": 115200", "\"baud\": 0"), ("\"position\": [0, 180]", "\"position\": [180, 0]"), ("\"gantry.input1\"", "\"gantry.input99\""));

        var said = await ServeAsync();

        Assert.Equal(2, said.ExitCode);
        Assert.Contains("ports[0].baud", said.Error, StringComparison.Ordinal);
        Assert.Contains("axes[2].limits.position", said.Error, StringComparison.Ordinal);
        Assert.Contains("gantry.input99", said.Error, StringComparison.Ordinal);
        AssertNothingStarted();
    }

    [Fact]
    public async Task Check_BadFile_TellsTheSameAndItsJson()
    {
        Edit(("\"baud\": 115200", "\"baud\": 0"));

        var said = await Daemon.RunAsync(NoVariables, "check", MachineFile, "--json");

        Assert.Equal(2, said.ExitCode);
        Assert.Contains("ports[0].baud", said.Error, StringComparison.Ordinal);
        var json = System.Text.Json.JsonDocument.Parse(said.Output).RootElement;
        Assert.False(json.GetProperty("good").GetBoolean());
        Assert.Equal("ports[0].baud", json.GetProperty("errors")[0].GetProperty("path").GetString());
    }

    [Fact]
    public async Task Check_GoodFile_Summarises()
    {
        var said = await Daemon.RunAsync(NoVariables, "check", MachineFile);

        Assert.Equal(0, said.ExitCode);
        Assert.Contains("2 ports, 4 axes, 3 interlocks", said.Output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Simulate_BadFile_IsTold()
    {
        Edit(("\"baud\": 115200", "\"baud\": 0"));

        var said = await Daemon.RunAsync(NoVariables, "simulate", MachineFile, "--link-dir", Path.Combine(_folder, "links"));

        Assert.Equal(2, said.ExitCode);
        Assert.Contains("ports[0].baud", said.Error, StringComparison.Ordinal);
        Assert.False(Directory.Exists(Path.Combine(_folder, "links")));
    }

    [Fact]
    public async Task Serve_UnknownDevice_IsTold()
    {
        var said = await Daemon.RunAsync(
            NoVariables, "serve", "--config", MachineFile, "--device", "line-x=/dev/null", "--socket", Socket, "--state-dir", Path.Combine(_folder, "state"));

        Assert.Equal(2, said.ExitCode);
        Assert.Contains("line-a, line-b", said.Error, StringComparison.Ordinal);
        AssertNothingStarted();
    }

    [Theory]
    [InlineData("status")]
    [InlineData("move", "dibber", "-5")]
    [InlineData("stop")]
    [InlineData("watch")]
    public async Task Client_NoDaemon_Answers3AndSaysWhatToDo(params string[] arguments)
    {
        var said = await Daemon.RunAsync(new Dictionary<string, string> { ["AXIS_SUPERVISOR_SERVER"] = Socket }, arguments);

        Assert.Equal(3, said.ExitCode);
        Assert.Contains("serve", Assert.Single(Lines(said.Error)), StringComparison.Ordinal);
    }

    private static string[] Lines(string text) => text.Split('\n', StringSplitOptions.RemoveEmptyEntries);

    private Task<Said> ServeAsync() =>
        Daemon.RunAsync(NoVariables, "serve", "--config", MachineFile, "--socket", Socket, "--state-dir", Path.Combine(_folder, "state"));

    /// <summary>Changes the first place of each text; one that is not there would test nothing.</summary>
    private void Edit(params (string Old, string New)[] changes)
    {
        var text = File.ReadAllText(MachineFile);
        foreach (var (old, changed) in changes)
        {
            var at = text.IndexOf(old, StringComparison.Ordinal);
            Assert.True(at >= 0, $"{old} is not in the file");
            text = text[..at] + changed + text[(at + old.Length)..];
        }

        File.WriteAllText(MachineFile, text);
    }

    private void AssertNothingStarted()
    {
        Assert.False(File.Exists(Socket));
        Assert.False(Directory.Exists(Path.Combine(_folder, "state")));
    }
}
