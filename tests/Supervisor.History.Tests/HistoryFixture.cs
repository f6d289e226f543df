using Microsoft.Data.Sqlite;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.History.Tests;

/// <summary>A folder with a history in it, a clock that is set by hand, and a gate that holds the writer where it reads the clock.</summary>
internal sealed class HistoryFixture : IDisposable
{
    public static readonly TimeSpan Bound = TimeSpan.FromSeconds(30);

    private readonly string _folder = Directory.CreateTempSubdirectory("history-").FullName;
    private readonly ManualResetEventSlim _gate = new(true);
    private int _clockReads;
    private int _pauses;

    public HistoryFixture() => Path = System.IO.Path.Combine(_folder, "history.db");

    public string Folder => _folder;
    public string Path { get; set; }
    public ClockReading Now { get; set; } = new(TimeSpan.FromSeconds(100), new DateTimeOffset(2031, 5, 6, 7, 8, 9, TimeSpan.Zero), UtcQuality.Synchronised);
    public int ClockReads => Volatile.Read(ref _clockReads);
    public int Pauses => Volatile.Read(ref _pauses);
    public HistoryReader Reader => new(Path);

    public HistoryOptions Options => new()
    {
        Path = Path,
        BootId = "boot-1",
        BytesPerDay = 100_000_000_000,
        Clock = () =>
        {
            Interlocked.Increment(ref _clockReads);
            _gate.Wait(Bound);
            return Now;
        },
        Pause = _ =>
        {
            // Gives the machine away between attempts; the test decides when the disk works again.
            Interlocked.Increment(ref _pauses);
            Thread.Yield();
        },
    };

    public HistoryStore Open(Func<HistoryOptions, HistoryOptions>? change = null) => HistoryStore.Open(change is null ? Options : change(Options));

    public void HoldWriter() => _gate.Reset();

    public void ReleaseWriter() => _gate.Set();

    public IReadOnlyList<StoredRecord> All() => Reader.Query(new HistoryFilter { Limit = HistoryFilter.MaximumLimit }).Records;

    public SqliteConnection Connect()
    {
        var connection = new SqliteConnection($"Data Source={Path};Pooling=False");
        connection.Open();
        return connection;
    }

    public void Execute(string sql)
    {
        using var connection = Connect();
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        command.ExecuteNonQuery();
    }

    public long Scalar(string sql)
    {
        using var connection = Connect();
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        return (long)command.ExecuteScalar()!;
    }

    public void Dispose()
    {
        _gate.Set();
        Directory.Delete(_folder, recursive: true);
    }

    public static async Task Until(Func<bool> condition)
    {
        using var bound = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        bound.CancelAfter(Bound);
        while (!condition())
        {
            await Task.Delay(5, bound.Token);
        }
    }

    public static FaultRecord Fault(int number, string axis = "dibber", FaultCode code = FaultCode.FollowingError) => new(
        TimeSpan.FromMilliseconds(number), axis, "line-a", null, code, FaultCatalogue.ClassOf(code), 0x8611, AxisState.Moving, (ulong)number, number / 8.0);

    public static CommandRecord Refused(int number) => new(
        TimeSpan.FromMilliseconds(number), (ulong)number, "move dibber 999999", "test", "dibber", Outcome.Refused, Refusal.PositionLimit, FaultCode.None, "dibber ends at 180 mm.");
}
