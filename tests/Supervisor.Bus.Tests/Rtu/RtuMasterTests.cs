using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

/// <summary>The master's steps and times, each written out.</summary>
public sealed class RtuMasterTests
{
    private static readonly TimeSpan Start = TimeSpan.FromSeconds(50);
    private static readonly TimeSpan Gap = Lines.Usual.FrameGap;
    private static readonly TimeSpan Timeout = TimeSpan.FromMilliseconds(20);
    private readonly RtuMaster _master = new(Lines.Usual);
    private readonly Transaction _read = GoldenFrames.Transaction(GoldenFrames.ReadHoldingRequest);

    private static TimeSpan RequestTime => Lines.Usual.CharacterTime(8);

    [Fact]
    public void Next_FreshLine_DiscardsSendsThenListensUntilTheTimeout()
    {
        _master.Begin(_read, Start);
        Assert.Equal(new MasterStep(MasterAction.Discard, Start), _master.Next(Start));

        _master.Discarded(0, Start);
        Assert.Equal(MasterAction.Send, _master.Next(Start).Action);

        _master.Sent(Start, Start);
        Assert.Equal(new MasterStep(MasterAction.Listen, Start + RequestTime + Timeout), _master.Next(Start));
        Assert.Equal(Start, _read.BegunAt);
    }

    [Fact]
    public void Received_ReplyByteByByte_EndsWithTheLast()
    {
        Listen(_read, Start);
        var reply = Hex.Bytes(GoldenFrames.ReadHoldingReply);
        for (var i = 0; i < reply.Length; i++)
        {
            Assert.Equal(TransactionResult.None, _read.Result);
            Feed([reply[i]], Start);
        }

        Assert.Equal(TransactionResult.Reply, _read.Result);
        Assert.Equal(MasterAction.Done, _master.Next(Start).Action);
    }

    [Fact]
    public void EarliestStart_AfterAReply_IsTheSilenceBehindItsLastByte()
    {
        Listen(_read, Start);
        var repliedAt = Start + TimeSpan.FromMilliseconds(3);
        Feed(Hex.Bytes(GoldenFrames.ReadHoldingReply), repliedAt);

        Assert.Equal(repliedAt + Gap, _master.EarliestStart(_read, repliedAt));
        Assert.Equal(repliedAt + (2 * Gap), _master.EarliestStart(_read, repliedAt + (2 * Gap)));
    }

    [Fact]
    public void Discarded_BytesOnTheLine_StartsAfterTheirSilence()
    {
        _master.Begin(_read, Start);
        _master.Discarded(3, Start);

        Assert.Equal(new MasterStep(MasterAction.Discard, Start + Gap), _master.Next(Start));
        _master.Discarded(0, Start + Gap);
        Assert.Equal(MasterAction.Send, _master.Next(Start + Gap).Action);
        Assert.Equal(3, _master.DiscardedBytes);
    }

    [Fact]
    public void Discarded_BabbleWithoutEnd_SendsAfterTheLongestFrame()
    {
        _master.Begin(_read, Start);
        var now = Start;
        while (_master.Next(now).Action == MasterAction.Discard)
        {
            now += TimeSpan.FromMilliseconds(1);
            Assert.True(now < Start + TimeSpan.FromSeconds(1), "The request never goes out.");
            _master.Discarded(5, now);
        }

        Assert.Equal(MasterAction.Send, _master.Next(now).Action);
        Assert.True(now >= Start + Lines.Usual.CharacterTime(256));
    }

    [Fact]
    public void EarliestStart_AfterATimeout_HoldsTheSameShapeOneMoreTimeout()
    {
        var deadline = TimeOut(_read);

        Assert.Equal(deadline + Timeout, _master.EarliestStart(_read, deadline));
        Assert.Equal(deadline + Timeout, _master.EarliestStart(SameShape(), deadline));
    }

    [Fact]
    public void EarliestStart_AfterATimeout_HoldsNoOtherUnitOrShapeOrUrgent()
    {
        var deadline = TimeOut(_read);
        Transaction[] others = [.. Enumerable.Range(0, 6).Select(_ => new Transaction())];
        others[0].Read(2, 3, 0x6B, 3);
        others[1].Read(1, 3, 0x6B, 2);
        others[2].Read(1, 4, 0x6B, 3);
        others[3].WriteSingle(1, 0x6B, 3);
        others[4].WriteSingle(0, 0x6B, 3);
        others[5].Read(1, 3, 0x6B, 3);
        others[5].Urgent = true;

        Assert.All(others, other => Assert.Equal(deadline, _master.EarliestStart(other, deadline)));
    }

    [Fact]
    public void EarliestStart_LateWindowSet_HoldsThatLong()
    {
        var master = new RtuMaster(Lines.Usual, TimeSpan.FromMilliseconds(7));
        var deadline = TimeOut(_read, master);

        Assert.Equal(deadline + TimeSpan.FromMilliseconds(7), master.EarliestStart(_read, deadline));
    }

    [Fact]
    public void EarliestStart_AfterALostWrite_HoldsOnlyTheSameEcho()
    {
        var lost = new Transaction { ReplyTimeout = Timeout };
        lost.WriteMultiple(1, 64, [1, 2]);
        var deadline = TimeOut(lost);
        var sameEcho = new Transaction();
        sameEcho.WriteMultiple(1, 64, [3, 4]);
        var stop = new Transaction();
        stop.WriteMultiple(1, 64, [2]);

        Assert.Equal(deadline + Timeout, _master.EarliestStart(sameEcho, deadline));
        Assert.Equal(deadline, _master.EarliestStart(stop, deadline));
    }

    [Fact]
    public void EarliestStart_AfterAWholeReplyWithABadCrc_HoldsNothing()
    {
        Listen(_read, Start);
        var reply = Hex.Bytes(GoldenFrames.ReadHoldingReply);
        reply[5] ^= 1;
        Feed(reply, Start);

        Assert.Equal(TransactionResult.Garbled, _read.Result);
        Assert.Equal(FrameFault.BadCrc, _read.Fault);
        Assert.True(_master.EarliestStart(_read, Start) <= Start + RequestTime + Gap);
    }

    [Fact]
    public void EarliestStart_AfterACutReply_HoldsTheSameShape()
    {
        Listen(_read, Start);
        Feed(Hex.Bytes(GoldenFrames.ReadHoldingReply)[..6], Start);
        var deadline = Start + RequestTime + Timeout;
        _master.Silent(deadline);

        Assert.Equal(TransactionResult.Garbled, _read.Result);
        Assert.Equal(FrameFault.Cut, _read.Fault);
        Assert.Equal(deadline + Timeout, _master.EarliestStart(_read, deadline));
    }

    [Fact]
    public void EarliestStart_AfterNoiseInPlaceOfAReply_HoldsUntilTheReplyCanNoLongerCome()
    {
        Listen(_read, Start);
        Feed([0xFF, 0x00, 0xFF], Start);

        Assert.Equal(TransactionResult.Garbled, _read.Result);
        Assert.Equal(Start + RequestTime + Timeout + Timeout, _master.EarliestStart(_read, Start));
    }

    [Fact]
    public void EarliestStart_ManyUnansweredUnits_HoldsEachOfThem()
    {
        var master = new RtuMaster(Lines.Usual, TimeSpan.FromSeconds(100));
        var now = Start;
        var transaction = new Transaction { ReplyTimeout = Timeout };
        for (byte unit = 1; unit <= 100; unit++)
        {
            transaction.Read(unit, 3, 0, 1);
            now = TimeOut(transaction, master, now);
        }

        for (byte unit = 1; unit <= 100; unit++)
        {
            transaction.Read(unit, 3, 0, 1);
            Assert.True(master.EarliestStart(transaction, now) > now + TimeSpan.FromSeconds(90), $"Unit {unit} is not held.");
        }
    }

    [Fact]
    public void Sent_Broadcast_EndsAndKeepsTheLineQuiet()
    {
        var stop = new Transaction { ReplyTimeout = TimeSpan.FromMilliseconds(100) };
        stop.WriteSingle(0, 64, 0);
        _master.Begin(stop, Start);
        _master.Discarded(0, Start);
        _master.Sent(Start, Start);

        Assert.Equal(TransactionResult.Sent, stop.Result);
        Assert.Equal(MasterAction.Done, _master.Next(Start).Action);
        // 100 to 200 ms turnaround: MODBUS over Serial Line V1.02, 2.4.1.
        Assert.Equal(Start + RequestTime + TimeSpan.FromMilliseconds(100), _master.EarliestStart(_read, Start));
    }

    [Fact]
    public void Begin_WhileOneRuns_Throws()
    {
        _master.Begin(_read, Start);

        Assert.Throws<InvalidOperationException>(() => _master.Begin(SameShape(), Start));
    }

    [Fact]
    public void Begin_WithoutAReplyTimeout_Throws()
    {
        var transaction = new Transaction();
        transaction.Read(1, 3, 0, 1);

        Assert.Throws<InvalidOperationException>(() => _master.Begin(transaction, Start));
    }

    [Fact]
    public void LinkGone_WhileListening_EndsAndStillHoldsTheShape()
    {
        Listen(_read, Start);
        _master.LinkGone(Start);

        Assert.Equal(TransactionResult.LinkGone, _read.Result);
        Assert.True(_master.EarliestStart(_read, Start) > Start + Timeout);
    }

    [Fact]
    public void Steps_OutOfOrder_Throw()
    {
        Assert.Throws<InvalidOperationException>(() => _master.Received(0, Start));
        Assert.Throws<InvalidOperationException>(() => _master.Silent(Start));
        Assert.Throws<InvalidOperationException>(() => _master.LinkGone(Start));
        _master.Begin(_read, Start);
        Assert.Throws<InvalidOperationException>(() => _master.Sent(Start, Start));
    }

    private static Transaction SameShape()
    {
        var transaction = new Transaction { ReplyTimeout = Timeout };
        transaction.Read(1, 3, 0x2000, 3);
        return transaction;
    }

    private void Listen(Transaction transaction, TimeSpan now)
    {
        _master.Begin(transaction, now);
        _master.Discarded(0, now);
        _master.Sent(now, now);
    }

    private void Feed(byte[] bytes, TimeSpan now)
    {
        bytes.CopyTo(_master.Space);
        _master.Received(bytes.Length, now);
    }

    private TimeSpan TimeOut(Transaction transaction) => TimeOut(transaction, _master, Start);

    private static TimeSpan TimeOut(Transaction transaction, RtuMaster master) => TimeOut(transaction, master, Start);

    private static TimeSpan TimeOut(Transaction transaction, RtuMaster master, TimeSpan now)
    {
        master.Begin(transaction, now);
        while (master.Next(now).Action == MasterAction.Discard)
        {
            now = master.Next(now).Until;
            master.Discarded(0, now);
        }

        master.Sent(now, now);
        var deadline = master.Next(now).Until;
        master.Silent(deadline - TimeSpan.FromTicks(1));
        Assert.Equal(TransactionResult.None, transaction.Result);
        master.Silent(deadline);
        Assert.Equal(TransactionResult.TimedOut, transaction.Result);
        return deadline;
    }
}
