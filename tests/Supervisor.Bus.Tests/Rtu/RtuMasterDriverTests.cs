using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

public sealed class RtuMasterDriverTests : IDisposable
{
    private readonly SimulatedLine _line = new();
    private readonly RtuMaster _master = new(Lines.Usual);
    private readonly RtuMasterDriver _driver;

    public RtuMasterDriverTests() => _driver = new RtuMasterDriver(_master, _line, _line);

    public void Dispose() => _line.Dispose();

    public static TheoryData<string, string> Pairs => GoldenFrames.Pairs;

    [Theory]
    [MemberData(nameof(Pairs))]
    public void Run_GoldenReplySplitAnywhere_IsReply(string request, string reply)
    {
        var frame = Hex.Bytes(reply);
        for (var split = 1; split <= frame.Length; split++)
        {
            _line.OnWrite = _ =>
            {
                _line.Deliver(TimeSpan.FromMilliseconds(2), frame[..split]);
                _line.Deliver(TimeSpan.FromMilliseconds(5), frame[split..]);
            };
            var transaction = GoldenFrames.Transaction(request);

            Assert.Equal(TransactionResult.Reply, _driver.Run(transaction));
            Assert.Equal(Hex.Bytes(request), _line.Written[^1]);
            Assert.Equal(frame, transaction.ReplyFrame.ToArray());
            _line.WaitUntil(_line.Now + TimeSpan.FromMilliseconds(10));
        }
    }

    [Theory]
    [MemberData(nameof(Pairs))]
    public void Run_EverySingleBitErrorOfAGoldenReply_IsNoReply(string request, string reply)
    {
        for (var bit = 0; bit < 8 * Hex.Bytes(reply).Length; bit++)
        {
            var frame = Hex.Bytes(reply);
            frame[bit / 8] ^= (byte)(1 << (bit % 8));
            _line.OnWrite = _ => _line.Deliver(TimeSpan.FromMilliseconds(2), frame);

            Assert.NotEqual(TransactionResult.Reply, _driver.Run(GoldenFrames.Transaction(request)));
        }
    }

    [Fact]
    public void Run_NoReply_TimesOutAfterTheFramesTimeAndTheTimeout()
    {
        var transaction = GoldenFrames.Transaction(GoldenFrames.ReadHoldingRequest);

        Assert.Equal(TransactionResult.TimedOut, _driver.Run(transaction));
        Assert.Equal(Lines.Usual.CharacterTime(8) + transaction.ReplyTimeout, transaction.EndedAt - transaction.BegunAt);
    }

    [Fact]
    public void Run_ReplyWithTheLastTickOfTheTimeout_IsStillAReply()
    {
        var transaction = GoldenFrames.Transaction(GoldenFrames.ReadHoldingRequest);
        _line.OnWrite = _ => _line.Deliver(Lines.Usual.CharacterTime(8) + transaction.ReplyTimeout, Hex.Bytes(GoldenFrames.ReadHoldingReply));

        Assert.Equal(TransactionResult.Reply, _driver.Run(transaction));
    }

    [Fact]
    public void Run_NotWantedOnceTheLineIsQuiet_SendsNothingAndTheNextGoesOut()
    {
        var isWanted = true;
        var driver = new RtuMasterDriver(_master, _line, _line, () => isWanted);
        Reply(GoldenFrames.ReadHoldingReply);
        var transaction = GoldenFrames.Transaction(GoldenFrames.ReadHoldingRequest);

        // Bytes that nobody asked for make it wait for the line's silence; meanwhile it is called back.
        _line.Deliver(TimeSpan.Zero, 0x55);
        isWanted = false;
        var written = _line.Written.Count;
        Assert.Equal(TransactionResult.Withdrawn, driver.Run(transaction));
        Assert.Equal(written, _line.Written.Count);

        isWanted = true;
        Assert.Equal(TransactionResult.Reply, driver.Run(transaction));
        Assert.Equal(written + 1, _line.Written.Count);
    }

    [Fact]
    public void Run_TwoInARow_KeepsTheSilenceBetweenThem()
    {
        Reply(GoldenFrames.ReadHoldingReply);
        var transaction = GoldenFrames.Transaction(GoldenFrames.ReadHoldingRequest);
        _driver.Run(transaction);
        var firstEnded = transaction.EndedAt;
        _driver.Run(transaction);

        Assert.Equal(firstEnded + Lines.Usual.FrameGap, transaction.BegunAt);
    }

    [Fact]
    public void Run_Broadcast_EndsWithoutListening()
    {
        var stop = new Transaction();
        stop.WriteSingle(0, 64, 0);

        Assert.Equal(TransactionResult.Sent, _driver.Run(stop));
        Assert.Equal(stop.BegunAt, stop.EndedAt);
        Assert.Single(_line.Written);
    }

    [Fact]
    public void Run_LinkGoneBeforeSending_SendsNothing()
    {
        _line.GoneAt = _line.Now;

        Assert.Equal(TransactionResult.LinkGone, _driver.Run(GoldenFrames.Transaction(GoldenFrames.WriteSingle)));
        Assert.Empty(_line.Written);
    }

    [Fact]
    public void Run_LinkGoneWhileWriting_IsLinkGone()
    {
        _line.WriteStatus = LinkStatus.Gone;

        Assert.Equal(TransactionResult.LinkGone, _driver.Run(GoldenFrames.Transaction(GoldenFrames.WriteSingle)));
    }

    [Fact]
    public void Run_LinkGoneWhileListening_IsLinkGoneAndTheNextRunsOnANewLink()
    {
        _line.GoneAt = _line.Now + TimeSpan.FromMilliseconds(5);
        Assert.Equal(TransactionResult.LinkGone, _driver.Run(GoldenFrames.Transaction(GoldenFrames.WriteSingle)));

        var reopened = new SimulatedLine { Now = _line.Now + TimeSpan.FromSeconds(1) };
        reopened.OnWrite = _ => reopened.Deliver(TimeSpan.Zero, Hex.Bytes(GoldenFrames.WriteSingle));
        Assert.Equal(TransactionResult.Reply, new RtuMasterDriver(_master, reopened, reopened).Run(GoldenFrames.Transaction(GoldenFrames.WriteSingle)));
    }

    [Fact]
    public void Run_LinkTakesNoBytes_TimesOut()
    {
        _line.WriteStatus = LinkStatus.TimedOut;

        Assert.Equal(TransactionResult.TimedOut, _driver.Run(GoldenFrames.Transaction(GoldenFrames.WriteSingle)));
    }

    private void Reply(string frame) => _line.OnWrite = _ => _line.Deliver(TimeSpan.FromMilliseconds(1), Hex.Bytes(frame));
}
