using Supervisor.Daemon.Services;
using Supervisor.History;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Services;

/// <summary>Following a history: each number is sent once or told as missing, whatever breaks on the way.</summary>
public sealed class RecordFollowerTests : IDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    private readonly string _folder = Directory.CreateTempSubdirectory("follow-").FullName;
    private readonly List<long> _sent = [];
    private readonly List<(long First, long Last, long Missing)> _gaps = [];
    private long _through;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public async Task Run_BrokenAgainAndAgainWhileRecordsArrive_SendsEachOnce()
    {
        using var history = Open();
        using var ends = new CancellationTokenSource();
        var writing = Task.Run(async () =>
        {
            for (var i = 0; i < 3_000; i++)
            {
                history.Append(Fault(i));
                if (i % 100 == 0)
                {
                    await history.FlushAsync();
                }
            }

            await history.FlushAsync();
        }, TestContext.Current.CancellationToken);

        // A client whose connection breaks in the midst of a record goes on behind the last one that it has.
        for (var breaks = 1; _sent.Count < 3_000; breaks++)
        {
            var room = 137 * breaks;
            await FollowAsync(history, new HistoryFilter(), _sent.Count > 0 ? _sent[^1] : 0, () => _sent.Count >= Math.Min(3_000, room));
        }

        await writing;
        Assert.Equal(Enumerable.Range(1, 3_000).Select(n => (long)n), _sent);
        Assert.Empty(_gaps);
    }

    [Fact]
    public async Task Run_WithAFilter_TellsHowFarItCameThoughNothingPasses()
    {
        using var history = Open();
        await AppendAsync(history, 30);

        await FollowAsync(history, new HistoryFilter { Axis = "none" }, 0, () => _through == 30);

        Assert.Empty(_sent);
    }

    [Fact]
    public async Task Run_WithoutANumber_BeginsWithWhatComes()
    {
        using var history = Open();
        await AppendAsync(history, 10);
        var following = FollowAsync(history, new HistoryFilter(), null, () => _sent.Count == 5);
        await UntilAsync(() => Volatile.Read(ref _through) == 10);
        await AppendAsync(history, 5);

        await following;
        Assert.Equal([11, 12, 13, 14, 15], _sent);
    }

    [Fact]
    public async Task Run_BehindWhatTheRingHasTaken_TellsTheGapAndGoesOn()
    {
        using var history = Open(maximumPerKind: 20);
        await AppendAsync(history, 200);
        var kept = history.Reader.Query(new HistoryFilter { Limit = 1_000 }).Records.Select(record => record.Sequence).Reverse().ToArray();

        await FollowAsync(history, new HistoryFilter(), 50, () => _sent.Count == kept.Length);

        Assert.Equal(kept, _sent);
        Assert.Equal([(51, kept[0] - 1, kept[0] - 51)], _gaps);
    }

    [Fact]
    public async Task Run_HolesInBetween_AreCounted()
    {
        using var history = Open(maximumPerKind: 20);
        history.Append(new EndRecord(TimeSpan.Zero, "first"));
        await AppendAsync(history, 200);
        var oldest = history.Reader.Query(new HistoryFilter { Kinds = [RecordKind.Fault], OldestFirst = true, Limit = 1 }).Records[0].Sequence;

        await FollowAsync(history, new HistoryFilter(), 0, () => _through == 201);

        Assert.Equal(1, _sent[0]);
        Assert.Equal([(1, 201, oldest - 2)], _gaps);
    }

    [Fact]
    public async Task Run_BehindANumberThatIsNotGivenYet_IsRefused()
    {
        using var history = Open();
        await AppendAsync(history, 3);

        var refused = await Assert.ThrowsAsync<Grpc.Core.RpcException>(() => FollowAsync(history, new HistoryFilter(), 4, () => false));
        Assert.Equal(Grpc.Core.StatusCode.OutOfRange, refused.StatusCode);
    }

    private HistoryStore Open(int maximumPerKind = 100_000) => HistoryStore.Open(new HistoryOptions
    {
        Path = Path.Combine(_folder, "history.db"), BootId = "b", MaximumPerKind = maximumPerKind,
        Clock = () => new ClockReading(TimeSpan.FromSeconds(100), new DateTimeOffset(2031, 5, 6, 7, 8, 9, TimeSpan.Zero), UtcQuality.Synchronised), Pause = _ => Thread.Yield(),
    });

    private static async Task AppendAsync(HistoryStore history, int count)
    {
        for (var i = 0; i < count; i++)
        {
            history.Append(Fault(i));
        }

        await history.FlushAsync();
    }

    private static FaultRecord Fault(int number) => new(
        TimeSpan.FromMilliseconds(number), "dibber", "line-a", null, FaultCode.FollowingError, FaultClass.Following, 0, AxisState.Moving, 0, number);

    private async Task FollowAsync(HistoryStore history, HistoryFilter filter, long? after, Func<bool> isEnough)
    {
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        ends.CancelAfter(Patience);
        var follower = new RecordFollower(history, filter, Send, Gap, Through);
        try
        {
            await follower.RunAsync(after, ends.Token);
        }
        catch (OperationCanceledException) when (isEnough())
        {
        }

        Task Send(StoredRecord record)
        {
            ends.Token.ThrowIfCancellationRequested();
            _sent.Add(record.Sequence);
            return Look();
        }

        Task Gap(long first, long last, long missing)
        {
            _gaps.Add((first, last, missing));
            return Look();
        }

        Task Through(long through)
        {
            Volatile.Write(ref _through, through);
            return Look();
        }

        Task Look() => isEnough() ? ends.CancelAsync() : Task.CompletedTask;
    }

    private static async Task UntilAsync(Func<bool> condition)
    {
        using var bound = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        bound.CancelAfter(Patience);
        while (!condition())
        {
            await Task.Delay(5, bound.Token);
        }
    }
}
