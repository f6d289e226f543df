using System.Diagnostics;
using System.Text.Json;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>The benchmarks' command, with runs so short that its figures mean nothing: that the suites work, and what they leave behind.</summary>
[Collection(ProcessTests.Name)]
public sealed class BenchmarkTests : IDisposable
{
    private const string RequireVariable = "SUPERVISOR_REQUIRE_PEERS";
    private const int Attempts = 3;
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("benchmarks-");

    public void Dispose() => _folder.Delete(recursive: true);

    [Fact]
    public async Task Benchmarks_Tiny_WriteEveryFigure()
    {
        var file = Path.Combine(_folder.FullName, "figures.json");
        string[] suites = Environment.GetEnvironmentVariable("SUPERVISOR_LONG") == "1" ? ["bus", "paced", "line", "memory", "scale"] : ["bus", "paced", "line", "memory"];

        var (exitCode, output, error) = await RunAsync([.. suites, "--tiny", "--json", file]);

        // A computer that stalls may fault an axis or miss a reply, and a suite then breaks off.
        for (var attempt = 2; attempt <= Attempts && error.Contains("broken off:", StringComparison.Ordinal); attempt++)
        {
            TestContext.Current.TestOutputHelper?.WriteLine($"done again after: {error}");
            (exitCode, output, error) = await RunAsync([.. suites, "--tiny", "--json", file]);
        }

        Assert.True(exitCode == 0, error + output);
        var isWithoutPeers = error.Contains("left out:", StringComparison.Ordinal);
        Assert.False(isWithoutPeers && Environment.GetEnvironmentVariable(RequireVariable) == "1", error);
        var results = JsonDocument.Parse(await File.ReadAllBytesAsync(file, TestContext.Current.CancellationToken)).RootElement.GetProperty("results").EnumerateArray().ToList();
        Assert.All(results, result =>
        {
            Assert.Equal(["suite", "name", "value", "unit", "goal", "n"], result.EnumerateObject().Select(member => member.Name));
            Assert.True(result.GetProperty("n").GetInt64() > 0, result.ToString());
            Assert.Contains(result.GetProperty("name").GetString()!, output, StringComparison.Ordinal);
        });
        string[] measured = isWithoutPeers ? [.. suites.Except(["bus", "paced"])] : suites;
        Assert.Equal(measured, results.Select(result => result.GetProperty("suite").GetString()!).Distinct());
        Assert.All(measured.Except(["memory"]), suite => Assert.Contains(
            results, result => result.GetProperty("suite").GetString() == suite && result.GetProperty("name").GetString()!.Contains("A against A", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task Benchmarks_WithoutCompiler_SayWhatIsMissing()
    {
        var (exitCode, _, error) = await RunAsync(["bus", "paced", "--tiny"], path: _folder.FullName);

        Assert.True(exitCode == 0, error);
        Assert.Equal(2, error.Split("left out: cc is not installed (Debian: apt-get install gcc)").Length - 1);
    }

    [Fact]
    public async Task Benchmarks_UnknownSuite_NamesThoseThatAre()
    {
        var (exitCode, _, error) = await RunAsync(["buss"]);

        Assert.Equal(2, exitCode);
        Assert.Contains("'buss' is no suite; there are: bus, paced, stops, line, scale, memory, history", error, StringComparison.Ordinal);
    }

    private static async Task<(int ExitCode, string Output, string Error)> RunAsync(string[] arguments, string? path = null)
    {
        var start = new ProcessStartInfo(Path.Combine(AppContext.BaseDirectory, "Supervisor.Benchmarks"), arguments) { RedirectStandardOutput = true, RedirectStandardError = true };
        start.Environment["PATH"] = path ?? start.Environment["PATH"];
        using var process = Process.Start(start)!;
        var output = process.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
        var error = process.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        try
        {
            await process.WaitForExitAsync(TestContext.Current.CancellationToken).WaitAsync(2 * Daemon.Patience, TestContext.Current.CancellationToken);
        }
        catch (TimeoutException)
        {
            process.Kill(entireProcessTree: true);
            throw;
        }

        return (process.ExitCode, await output, await error);
    }
}
