using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Runtime.Ports;
using Supervisor.Runtime.Stops;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Ports;

/// <summary>A driver that never comes back from opening or closing a device: a stand-in, as none is to be had on command. Patience is simulated time.</summary>
[Collection(AloneCollection.Name)]
[SupportedOSPlatform("linux")]
public sealed class LinkKeeperTests : IDisposable
{
    private static readonly TimeSpan Bound = TimeSpan.FromSeconds(60);
    private readonly ManualResetEventSlim _hangs = new(false);
    private readonly List<int> _told = [];
    private readonly LinkKeeper _keeper;
    private int _opens;
    private int _closed;
    private volatile bool _isHealthy;

    public LinkKeeperTests()
    {
        _keeper = new LinkKeeper("line-a", Open, _told.Add);
        _keeper.Start();
    }

    [Fact]
    public void Opening_ThatHangs_CountsAsFailedAfterTheKeepersPatienceAndAnotherThreadTries()
    {
        _keeper.Ask(TimeSpan.Zero);
        Await(() => _opens == 1, "the opening began");
        Assert.False(_keeper.TryTake(LinkKeeper.Patience - TimeSpan.FromTicks(1), out _));
        Assert.True(_keeper.TryTake(LinkKeeper.Patience, out var link));
        Assert.Null(link);
        Assert.Equal([1], _told);

        // The adapter was plugged in again: the same name opens at once.
        _isHealthy = true;
        _keeper.Ask(LinkKeeper.Patience);
        Await(() => _keeper.TryTake(LinkKeeper.Patience, out link), "opened by the second thread");
        Assert.NotNull(link);

        // What the first one brings back too late is closed, and its thread ends.
        _hangs.Set();
        Await(() => _closed == 1 && UnplugTests.Threads("open ").Length == 1, "the first thread closed its link and ended");
    }

    [Fact]
    public void Openings_ThatHangForEver_TakeABoundedNumberOfThreads()
    {
        var now = TimeSpan.Zero;
        for (var attempt = 1; attempt <= LinkKeeper.MostThreads; attempt++)
        {
            _keeper.Ask(now);
            Await(() => _opens == attempt, "another one began");
            now += LinkKeeper.Patience;
            Assert.Equal(attempt < LinkKeeper.MostThreads, _keeper.TryTake(now, out _));
        }

        Assert.Equal([1, 2, 3], _told);
        for (var look = 0; look < 100; look++)
        {
            now += LinkKeeper.Patience;
            Assert.False(_keeper.TryTake(now, out _));
        }

        Assert.Equal(Enumerable.Repeat("open line-a", LinkKeeper.MostThreads), UnplugTests.Threads("open "));

        // They come back: those that were left behind close what they have, the last one's is taken.
        _hangs.Set();
        ILink? link = null;
        Await(() => _keeper.TryTake(now, out link), "the last one answered");
        Assert.NotNull(link);
        Await(() => _closed == LinkKeeper.MostThreads - 1 && UnplugTests.Threads("open ").Length == 1, "the others closed theirs and ended");
    }

    [Fact]
    public void Closing_ThatHangs_HoldsNeitherThePortNorTheNextOpening()
    {
        _isHealthy = true;
        _keeper.Close(new StandIn(() => _hangs.Wait()));
        _keeper.Ask(TimeSpan.Zero);
        Assert.False(_keeper.TryTake(TimeSpan.Zero, out _));
        Assert.True(_keeper.TryTake(LinkKeeper.Patience, out var none));
        Assert.Null(none);

        _keeper.Ask(LinkKeeper.Patience);
        ILink? link = null;
        Await(() => _keeper.TryTake(LinkKeeper.Patience, out link), "opened by another thread");
        Assert.NotNull(link);
        Assert.Equal(1, _opens);
    }

    [Fact]
    public void Port_WhoseOpeningHangs_GoesOnSteppingSeesStopsAndEnds()
    {
        var board = new MachineBoard(Parts.Machine(Parts.Axis("a")));
        var begun = 0;
        var thread = new PortThread(board, new PortStepper(board, 0), "line-b", Open, MonotonicClock.System, _ => { }) { Begins = () => begun++ };
        thread.Start();
        Await(() => _opens == 1, "the opening began");
        var beat = board.Ports[0].Port.Read().At;
        board.Latch.Trip(StopCauses.ShutDown);
        Await(() => board.Ports[0].Port.Read() is { Open: false } port && port.At > beat + TimeSpan.FromMilliseconds(50), "the port goes on");

        // The opening still hangs while the port ends.
        Assert.True(thread.Stop());
        Assert.Equal(1, begun);
        Assert.Equal(["open line-b"], UnplugTests.Threads("open line-b"));
        _hangs.Set();
        Await(() => _closed == 1 && UnplugTests.Threads("open line-b").Length == 0, "what it opened is closed, and its thread ends");
    }

    [Fact]
    public void Opening_ThatBreaksByABug_IsToldToWhoAsked()
    {
        var keeper = new LinkKeeper("broken", () => throw new NotSupportedException("a planted bug"), null);
        keeper.Start();
        keeper.Ask(TimeSpan.Zero);
        Exception? seen = null;
        Await(() => (seen = Record.Exception(() => keeper.TryTake(TimeSpan.Zero, out _))) is not null, "told");
        Assert.IsType<NotSupportedException>(seen!.InnerException);
        keeper.End();
        Assert.True(keeper.Join(Bound));
    }

    public void Dispose()
    {
        _hangs.Set();
        _keeper.End();
        Assert.True(_keeper.Join(Bound));
        Await(() => UnplugTests.Threads("open ").Length == 0, "no thread is left");
        _hangs.Dispose();
    }

    private StandIn Open()
    {
        Interlocked.Increment(ref _opens);
        if (!_isHealthy)
        {
            _hangs.Wait();
        }

        return new StandIn(() => Interlocked.Increment(ref _closed));
    }

    private static void Await(Func<bool> holds, string what)
    {
        var end = MonotonicClock.System.Now + Bound;
        while (!holds())
        {
            Assert.True(MonotonicClock.System.Now < end, $"not within {Bound}: {what}");
            MonotonicClock.System.WaitUntil(MonotonicClock.System.Now + TimeSpan.FromMilliseconds(1));
        }
    }

    private sealed class StandIn(Action closes) : ILink
    {
        public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline) => LinkStatus.Gone;

        public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
        {
            count = 0;
            return LinkStatus.Gone;
        }

        public LinkStatus DiscardInput() => LinkStatus.Gone;

        public void Dispose() => closes();
    }
}
