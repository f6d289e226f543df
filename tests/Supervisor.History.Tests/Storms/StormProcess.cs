using System.Diagnostics;
using System.Globalization;

namespace Supervisor.History.Tests.Storms;

/// <summary>A process of its own that writes faults (<c>Supervisor.Storm</c>).</summary>
internal sealed class StormProcess : IDisposable
{
    private readonly Process _process;

    private StormProcess(Process process) => _process = process;

    /// <summary>True once it has ended.</summary>
    public bool HasEnded => _process.HasExited;

    /// <summary>Starts it.</summary>
    /// <param name="folder">Where its files are.</param>
    /// <param name="run">Number that is in the ids of its commands.</param>
    /// <param name="records">Faults of each producer; null: without end.</param>
    /// <param name="environment">Variables it gets.</param>
    public static StormProcess Start(string folder, int run, int? records = null, IReadOnlyDictionary<string, string>? environment = null)
    {
        var start = new ProcessStartInfo(Path.Combine(AppContext.BaseDirectory, "Supervisor.Storm"), [folder, Text(run), .. records is { } count ? [Text(count)] : Array.Empty<string>()])
        {
            RedirectStandardError = true,
            RedirectStandardOutput = true,
        };
        foreach (var (name, value) in environment ?? new Dictionary<string, string>())
        {
            start.Environment[name] = value;
        }

        return new StormProcess(Process.Start(start)!);
    }

    /// <summary>Reads what it says of its history until a line is as wanted.</summary>
    public async Task SeeAsync(Func<string, bool> isWanted)
    {
        using var bound = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        bound.CancelAfter(HistoryFixture.Bound * 2);
        while (await _process.StandardOutput.ReadLineAsync(bound.Token) is { } line)
        {
            if (isWanted(line))
            {
                return;
            }
        }

        Assert.Fail(await _process.StandardError.ReadToEndAsync(bound.Token));
    }

    /// <summary>SIGKILL.</summary>
    public void Kill()
    {
        _process.Kill();
        _process.WaitForExit();
    }

    /// <summary>Waits for its end, which must be in order.</summary>
    public async Task EndAsync()
    {
        var errors = await _process.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        await _process.WaitForExitAsync(TestContext.Current.CancellationToken);
        Assert.True(_process.ExitCode == 0, errors);
    }

    public void Dispose()
    {
        if (!_process.HasExited)
        {
            Kill();
        }

        _process.Dispose();
    }

    private static string Text(int number) => number.ToString(CultureInfo.InvariantCulture);
}
