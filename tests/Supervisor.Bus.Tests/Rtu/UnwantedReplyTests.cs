using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

/// <summary>
/// A reply that is late, foreign, cut or too long is never taken for the next one's. Each case runs in simulated time and over a real
/// pseudo-terminal; times are fractions of the reply time-out.
/// </summary>
public abstract class UnwantedReplyTests
{
    private const string First = "01 03 02 00 01";
    private const string Second = "01 03 02 00 02";
    private const string Foreign = "02 03 02 00 09";
    private const string StopEcho = "01 06 00 40 00 00";

    private readonly Transaction _read = new();
    private readonly Transaction _stop = new();

    private protected RtuMaster Master { get; } = new(Lines.Usual);

    /// <summary>One reply time-out of this rig.</summary>
    private protected abstract TimeSpan Unit { get; }

    [Fact]
    public void Run_LateReply_IsNotTheNextOnes()
    {
        Script([At(1.4, Good(First))], [At(0, Good(Second))]);

        Assert.Equal(TransactionResult.TimedOut, Read());
        var lostUntil = _read.BegunAt + Lines.Usual.CharacterTime(8) + (2 * Unit);
        Assert.Equal(TransactionResult.Reply, Read());
        Assert.Equal(2, _read.ReplyRegister(0));
        Assert.True(_read.BegunAt >= lostUntil, "It was sent while the late reply could still come.");
        Assert.Equal(Good(First).Length, Master.DiscardedBytes);
    }

    [Fact]
    public void Run_LateReplyWhileAStopIsAnswered_NeitherDelaysNorSpoilsIt()
    {
        Script([], [At(0, Good(First)), At(0.1, Good(StopEcho))], [At(0, Good(Second))]);

        Assert.Equal(TransactionResult.TimedOut, Read());
        Assert.Equal(TransactionResult.Reply, Stop());
        Assert.Equal(1, Master.LateReplies);
        // The late one has come: nothing is left to wait for.
        Assert.Equal(TransactionResult.Reply, Read());
        Assert.Equal(2, _read.ReplyRegister(0));
    }

    [Fact]
    public void Run_LateReplyAndTheStopsInOnePiece_AreToldApart()
    {
        Script([], [At(0, [.. Good(First), .. Good(StopEcho)])]);

        Assert.Equal(TransactionResult.TimedOut, Read());
        Assert.Equal(TransactionResult.Reply, Stop());
    }

    [Fact]
    public void Run_LateReplyWhileAnotherUnitIsAsked_IsSkipped()
    {
        Script([], [At(0, Good(First)), At(0.1, Good(Foreign))]);

        Assert.Equal(TransactionResult.TimedOut, Read());
        Assert.Equal(TransactionResult.Reply, Read(unit: 2));
        Assert.Equal(9, _read.ReplyRegister(0));
    }

    [Fact]
    public void Run_LateException_IsNotTheNextWritesException()
    {
        Script([], [At(0, Good("01 86 06")), At(0.1, Good(StopEcho))]);

        Assert.Equal(TransactionResult.TimedOut, Write(0x41, 5));
        Assert.Equal(TransactionResult.Reply, Stop());
        Assert.Equal(1, Master.LateReplies);
    }

    [Fact]
    public void Run_LateExceptionOnly_LeavesTheNextWriteUnanswered()
    {
        Script([], [At(0, Good("01 86 06"))]);

        Assert.Equal(TransactionResult.TimedOut, Write(0x41, 5));
        Assert.Equal(TransactionResult.TimedOut, Stop());
    }

    [Fact]
    public void Run_UrgentAfterTheSameRequestWasLost_TakesOnlyTheSecondEcho()
    {
        Script([], [At(0, Good(StopEcho)), At(0.1, Good(StopEcho))]);

        Assert.Equal(TransactionResult.TimedOut, Stop());
        Assert.Equal(TransactionResult.Reply, Stop(urgent: true));
        Assert.Equal(1, Master.LateReplies);
    }

    [Fact]
    public void Run_UrgentAnsweredByTheLateEchoOnly_IsNotConfirmed()
    {
        Script([], [At(0, Good(StopEcho))]);

        Assert.Equal(TransactionResult.TimedOut, Stop());
        Assert.Equal(TransactionResult.TimedOut, Stop(urgent: true));
    }

    [Fact]
    public void Run_ForeignReplyThenItsOwn_IsItsOwn()
    {
        // A reply from another slave leaves the time-out running: MODBUS over Serial Line V1.02, 2.4.1.
        Script([At(0, Good(Foreign)), At(0.1, Good(First))]);

        Assert.Equal(TransactionResult.Reply, Read());
        Assert.Equal(1, _read.ReplyRegister(0));
        Assert.Equal(1, Master.ForeignReplies);
    }

    [Fact]
    public void Run_ForeignReplyOnly_TimesOut()
    {
        Script([At(0, Good(Foreign))]);

        Assert.Equal(TransactionResult.TimedOut, Read());
        Assert.Equal(1, Master.ForeignReplies);
    }

    [Fact]
    public void Run_CutReply_IsGarbledAndTheNextIsItsOwn()
    {
        Script([At(0, Good(First)[..4])], [At(0, Good(Second))]);

        Assert.Equal(TransactionResult.Garbled, Read());
        Assert.Equal(FrameFault.Cut, _read.Fault);
        Assert.Equal(TransactionResult.Reply, Read());
        Assert.Equal(2, _read.ReplyRegister(0));
    }

    [Fact]
    public void Run_RestOfACutReplyComesLate_IsThrownAway()
    {
        Script([At(0, Good(First)[..4]), At(1.4, Good(First)[4..])], [At(0, Good(Second))]);

        Assert.Equal(TransactionResult.Garbled, Read());
        Assert.Equal(TransactionResult.Reply, Read());
        Assert.Equal(2, _read.ReplyRegister(0));
        Assert.Equal(3, Master.DiscardedBytes);
    }

    [Fact]
    public void Run_NoiseThenItsReply_GarblesThisOneAndNotTheNext()
    {
        Script([At(0, 0xFF, 0xFF), At(0.5, Good(First))], [At(0, Good(Second))]);

        Assert.Equal(TransactionResult.Garbled, Read());
        Assert.Equal(TransactionResult.Reply, Read());
        Assert.Equal(2, _read.ReplyRegister(0));
        Assert.Equal(Good(First).Length, Master.DiscardedBytes);
    }

    [Fact]
    public void Run_TooLongReply_IsGarbledAndTheNextIsItsOwn()
    {
        Script([At(0, [.. Good(First), 0x00, 0x55])], [At(0, Good(Second))]);

        Assert.Equal(TransactionResult.Garbled, Read());
        Assert.Equal(FrameFault.TooLong, _read.Fault);
        Assert.Equal(TransactionResult.Reply, Read());
        Assert.Equal(2, _read.ReplyRegister(0));
    }

    [Fact]
    public void Run_ReplyTwice_TheSecondIsNotTheNextOnes()
    {
        Script([At(0, Good(First)), At(0.3, Good(First))], [At(0, Good(Second))]);

        Assert.Equal(TransactionResult.Reply, Read());
        WaitUntil(_read.EndedAt + (Unit * 0.9));
        Assert.Equal(TransactionResult.Reply, Read());
        Assert.Equal(2, _read.ReplyRegister(0));
        Assert.Equal(Good(First).Length, Master.DiscardedBytes);
    }

    [Theory]
    [InlineData("01 04 02 00 01", FrameFault.WrongFunction)]
    [InlineData("01 03 04 00 01 00 02", FrameFault.WrongByteCount)]
    [InlineData("01 83 00", FrameFault.BadExceptionCode)]
    public void Run_ReplyOfAnotherShape_IsGarbledAndTheNextIsItsOwn(string body, FrameFault fault)
    {
        Script([At(0, Good(body))], [At(0, Good(Second))]);

        Assert.Equal(TransactionResult.Garbled, Read());
        Assert.Equal(fault, _read.Fault);
        Assert.Equal(TransactionResult.Reply, Read());
        Assert.Equal(2, _read.ReplyRegister(0));
    }

    [Theory]
    [InlineData("01 06 00 41 00 00")]
    [InlineData("01 06 00 40 00 01")]
    public void Run_EchoOfAnotherWrite_IsGarbled(string body)
    {
        Script([At(0, Good(body))]);

        Assert.Equal(TransactionResult.Garbled, Stop());
        Assert.Equal(FrameFault.WrongEcho, _stop.Fault);
    }

    [Fact]
    public void Run_BadCrc_IsGarbledAndTheNextIsItsOwn()
    {
        var bad = Good(First);
        bad[^1] ^= 0x80;
        Script([At(0, bad)], [At(0, Good(Second))]);

        Assert.Equal(TransactionResult.Garbled, Read());
        Assert.Equal(FrameFault.BadCrc, _read.Fault);
        Assert.Equal(TransactionResult.Reply, Read());
        Assert.Equal(2, _read.ReplyRegister(0));
    }

    [Fact]
    public void Run_Exception_IsItsCode()
    {
        Script([At(0, Good("01 83 06"))]);

        Assert.Equal(TransactionResult.ExceptionReply, Read());
        Assert.Equal(6, _read.ExceptionCode);
    }

    [Fact]
    public void Run_BytesLyingAboutBeforeTheFirst_AreThrownAway()
    {
        Inject(Good(Second));
        Script([At(0, Good(First))]);

        Assert.Equal(TransactionResult.Reply, Read());
        Assert.Equal(1, _read.ReplyRegister(0));
        Assert.Equal(Good(Second).Length, Master.DiscardedBytes);
    }

    /// <summary>The parts that answer the first, second … request.</summary>
    private protected abstract void Script(params Part[][] answers);

    /// <summary>Puts bytes on the line now.</summary>
    private protected abstract void Inject(byte[] bytes);

    private protected abstract void WaitUntil(TimeSpan time);

    private protected abstract TransactionResult Run(Transaction transaction);

    private static byte[] Good(string body) => Hex.WithCrc(body);

    private Part At(double timeouts, params byte[] bytes) => new(Unit * timeouts, bytes);

    private TransactionResult Read(byte unit = 1)
    {
        _read.Read(unit, 3, 0, 1);
        _read.ReplyTimeout = Unit;
        return Run(_read);
    }

    private TransactionResult Stop(bool urgent = false)
    {
        _stop.WriteSingle(1, 0x40, 0);
        _stop.Urgent = urgent;
        _stop.ReplyTimeout = Unit;
        return Run(_stop);
    }

    private TransactionResult Write(ushort register, ushort value)
    {
        _read.WriteSingle(1, register, value);
        _read.ReplyTimeout = Unit;
        return Run(_read);
    }
}

/// <summary>Bytes of a scripted answer, so long after the request.</summary>
internal sealed record Part(TimeSpan After, byte[] Bytes);
