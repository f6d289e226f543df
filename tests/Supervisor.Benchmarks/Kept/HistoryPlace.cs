using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.History;
using Supervisor.History.Clocks;
using Supervisor.History.Reading;

namespace Supervisor.Benchmarks.Kept;

/// <summary>A history on the disk of temporary files, as the daemon opens it but for its bounds.</summary>
[SupportedOSPlatform("linux")]
internal sealed class HistoryPlace : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("benchmark-");

    public string Path => System.IO.Path.Combine(_folder.FullName, "history.db");

    public HistoryReader Reader => new(Path);

    public HistoryStore Open(Func<HistoryOptions, HistoryOptions>? change = null)
    {
        var options = new HistoryOptions
        {
            Path = Path,
            BootId = "benchmark",
            Clock = Read,
            Pause = pause => MonotonicClock.System.WaitUntil(MonotonicClock.System.Now + pause),
            MaximumPerKind = 10_000_000,
            BytesPerDay = 100_000_000_000,
        };
        return HistoryStore.Open(change is null ? options : change(options));
    }

    public ClockReading Read() => new(MonotonicClock.System.Now, DateTimeOffset.UtcNow, UtcQuality.Synchronised);

    public TimeSpan Time(Action action)
    {
        var begun = MonotonicClock.System.Now;
        action();
        return MonotonicClock.System.Now - begun;
    }

    public void Dispose() => _folder.Delete(recursive: true);
}
