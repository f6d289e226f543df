using Supervisor.History.Entries;
using static Supervisor.History.Tests.HistoryFixture;

namespace Supervisor.History.Tests;

/// <summary>The file stays within a size however long it is written: rings of rows, and the log beside it folded in.</summary>
public sealed class SizeTests : IDisposable
{
    // Pages of the log after which it is folded in at the latest, with the frame around each (sqlite.org/fileformat2.html, 4.1), and one commit more.
    private const long LongestLog = 1_500 * (4_096 + 24);

    private readonly HistoryFixture _fixture = new();

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public async Task Append_ManyTimesTheRing_KeepsFileAndLogWithinTheirSize()
    {
        const int Ring = 400;
        using var store = _fixture.Open(options => options with { MaximumPerKind = Ring });
        await FillAsync(store, 0, 2 * Ring);
        var (pages, longestLog) = (_fixture.Scalar("PRAGMA page_count"), 0L);

        for (var round = 2; round < 30; round++)
        {
            await FillAsync(store, round * Ring, (round + 1) * Ring);
            longestLog = Math.Max(longestLog, new FileInfo(_fixture.Path + "-wal").Length);
        }

        // Rows differ in length a little, so that the pages do not come out even.
        Assert.InRange(_fixture.Scalar("PRAGMA page_count"), pages / 2, pages * 3 / 2);
        Assert.InRange(_fixture.Scalar("PRAGMA freelist_count"), 0, pages / 2);
        Assert.InRange(longestLog, 1, LongestLog);
        Assert.InRange(_fixture.Scalar("SELECT count(*) FROM records WHERE kind = 3"), Ring, Ring + (Ring / 8) + 1);
        Assert.InRange(_fixture.Scalar("SELECT count(*) FROM records WHERE kind = 7"), Ring, Ring + (Ring / 8) + 1);

        Assert.True(store.Stop(Bound));
        Assert.Equal(_fixture.Scalar("PRAGMA page_count") * 4_096, new FileInfo(_fixture.Path).Length);
    }

    private static async Task FillAsync(HistoryStore store, int first, int end)
    {
        for (var number = first; number < end; number++)
        {
            Assert.True(store.Append(Refused(number)));
            Assert.True(store.Append(Fault(number)));
            if (number % 20 == 0)
            {
                await store.FlushAsync();
            }
        }

        await store.FlushAsync();
    }
}
