using System.Runtime.Versioning;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Links;

/// <summary>The Linux link on real pseudo-terminals.</summary>
[SupportedOSPlatform("linux")]
public sealed class LinuxSerialLinkTests : IDisposable
{
    private static readonly TimeSpan Bound = TimeSpan.FromSeconds(10);
    private readonly LinuxMonotonicClock _clock = new();
    private readonly PseudoTerminal _line = PseudoTerminal.Open();

    private TimeSpan Soon => _clock.Now + Bound;

    public void Dispose() => _line.Dispose();

    [Fact]
    public void WriteAndRead_EveryByteValue_ArrivesUnchangedBothWays()
    {
        using var link = Open();
        var bytes = Enumerable.Range(0, 256).Select(i => (byte)i).ToArray();

        Assert.Equal(LinkStatus.Ok, link.Write(bytes, Soon));
        Assert.Equal(bytes, ReadAll(_line.Far, bytes.Length));
        Assert.Equal(LinkStatus.Ok, _line.Far.Write(bytes, Soon));
        Assert.Equal(bytes, ReadAll(link, bytes.Length));
    }

    [Fact]
    public void Read_NothingThere_TimesOutNotBeforeTheDeadline()
    {
        using var link = Open();
        var deadline = _clock.Now + TimeSpan.FromMilliseconds(5);

        Assert.Equal(LinkStatus.TimedOut, link.Read(new byte[8], deadline, out var count));
        Assert.Equal(0, count);
        Assert.True(_clock.Now >= deadline);
    }

    [Fact]
    public void Read_DeadlinePassed_StillReturnsWhatIsThere()
    {
        using var link = Open();
        SendThreeAndReadTheFirst(link);

        Assert.Equal(LinkStatus.Ok, link.Read(new byte[8], TimeSpan.Zero, out var count));
        Assert.Equal(2, count);
    }

    [Fact]
    public void Read_NothingThereForLessThanASleep_TimesOutNotBeforeTheDeadline()
    {
        using var link = Open();
        for (var microseconds = 1; microseconds <= 120; microseconds++)
        {
            var deadline = _clock.Now + TimeSpan.FromMicroseconds(microseconds);

            Assert.Equal(LinkStatus.TimedOut, link.Read(new byte[8], deadline, out _));
            Assert.True(_clock.Now >= deadline, $"{microseconds} us");
        }
    }

    [Fact]
    public void DiscardInput_BytesReceived_AreGone()
    {
        using var link = Open();
        SendThreeAndReadTheFirst(link);

        Assert.Equal(LinkStatus.Ok, link.DiscardInput());
        Assert.Equal(LinkStatus.TimedOut, link.Read(new byte[8], TimeSpan.Zero, out _));
    }

    [Fact]
    public void Write_ReaderIsStuck_TimesOut()
    {
        using var link = Open();
        var block = new byte[65536];

        Assert.Equal(LinkStatus.TimedOut, link.Write(block, _clock.Now + TimeSpan.FromMilliseconds(20)));
    }

    [Fact]
    public void EveryCall_AfterAHangUp_SaysGone()
    {
        using var link = Open();
        _line.Far.Dispose();

        Assert.Equal(LinkStatus.Gone, link.Read(new byte[8], Soon, out var count));
        Assert.Equal(0, count);
        Assert.Equal(LinkStatus.Gone, link.Read(new byte[8], TimeSpan.Zero, out _));
        Assert.Equal(LinkStatus.Gone, link.Write([1], Soon));
        Assert.Equal(LinkStatus.Gone, link.DiscardInput());
    }

    [Fact]
    public async Task Read_HangUpWhileWaiting_WakesAndSaysGone()
    {
        using var link = Open();
        var waiting = Task.Run(() => link.Read(new byte[8], _clock.Now + TimeSpan.FromSeconds(60), out _), TestContext.Current.CancellationToken);
        _line.Far.Dispose();

        Assert.Equal(LinkStatus.Gone, await waiting.WaitAsync(TimeSpan.FromSeconds(30), TestContext.Current.CancellationToken));
    }

    [Theory]
    [InlineData(300)]
    [InlineData(9600)]
    [InlineData(31250)]
    [InlineData(250000)]
    [InlineData(1000000)]
    [InlineData(12000000)]
    public void Open_AnyRate_IsTaken(int baud)
    {
        using var link = Open(Lines.Usual with { Baud = baud });

        Assert.Equal(LinkStatus.Ok, link.Write([0x55], Soon));
        Assert.Equal([0x55], ReadAll(_line.Far, 1));
    }

    [Theory]
    [InlineData(LineParity.Even, 1)]
    [InlineData(LineParity.Odd, 1)]
    [InlineData(LineParity.None, 2)]
    public void Open_TwiceWithParityOrTwoStopBits_WorksThoughAPseudoTerminalHasNeither(LineParity parity, int stopBits)
    {
        var settings = Lines.Usual with { Parity = parity, StopBits = stopBits };
        Open(settings).Dispose();
        using var link = Open(settings);

        Assert.Equal(LinkStatus.Ok, link.Write([0x55], Soon));
    }

    [Fact]
    public void Open_ThenMasterRuns_ReadsFromASlaveBehindTheLine()
    {
        using var link = Open();
        var registers = new RegisterArray(0x6B, 3) { [0x6B] = 0x022B, [0x6D] = 0x64 };
        var slave = new RtuSlave();
        slave.Serve(1, registers);
        var server = new RtuSlaveDriver(slave, _line.Far, _clock, TimeSpan.FromMilliseconds(5));
        using var serving = new Serving(server, _clock);
        var transaction = GoldenFrames.Transaction(GoldenFrames.ReadHoldingRequest);
        transaction.ReplyTimeout = Bound;

        var result = new RtuMasterDriver(new RtuMaster(Lines.Usual), link, _clock).Run(transaction);

        Assert.Equal(TransactionResult.Reply, result);
        Assert.Equal(Hex.Bytes(GoldenFrames.ReadHoldingReply), transaction.ReplyFrame.ToArray());
        Assert.True(transaction.EndedAt >= transaction.BegunAt);
    }

    private ILink Open() => Open(Lines.Usual);

    private ILink Open(LineSettings settings)
    {
        var opening = LinuxSerialLink.Open(_line.Device, settings);
        Assert.Equal("", opening.Reason);
        return opening.Link!;
    }

    private byte[] ReadAll(ILink link, int count)
    {
        var all = new byte[count];
        for (var have = 0; have < count;)
        {
            Assert.Equal(LinkStatus.Ok, link.Read(all.AsSpan(have), Soon, out var read));
            have += read;
        }

        return all;
    }

    /// <summary>One write of the far side arrives in one piece, so with the first byte the others are there.</summary>
    private void SendThreeAndReadTheFirst(ILink link)
    {
        Assert.Equal(LinkStatus.Ok, _line.Far.Write([1, 2, 3], Soon));
        Assert.Equal([1], ReadAll(link, 1));
    }
}
