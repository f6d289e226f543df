using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

/// <summary>
/// An adapter that hears what it sends: its own request is named and never taken for a reply, also where the proper reply has the same bytes
/// (MODBUS Application Protocol Specification V1.1b3, 6.5, 6.6, 6.8 and 6.16).
/// </summary>
public sealed class OwnRequestTests : IDisposable
{
    private static readonly TimeSpan Timeout = TimeSpan.FromMilliseconds(20);
    private static readonly TimeSpan AnswersAfter = TimeSpan.FromMilliseconds(2);

    private readonly SimulatedLine _line = new();
    private readonly RtuMaster _master = new(Lines.Usual);
    private readonly RtuMasterDriver _driver;

    public OwnRequestTests() => _driver = new RtuMasterDriver(_master, _line, _line);

    public void Dispose() => _line.Dispose();

    public static TheoryData<string, string> Pairs => GoldenFrames.Pairs;

    public static TheoryData<string> SameBothWays => [GoldenFrames.WriteSingle, GoldenFrames.WriteCoil, GoldenFrames.Echo, GoldenFrames.MaskWrite];

    [Theory]
    [MemberData(nameof(Pairs))]
    public void Run_RequestAheadOfItsReply_IsNamedInWhateverPiecesItComes(string request, string reply)
    {
        byte[] both = [.. Hex.Bytes(request), .. Hex.Bytes(reply)];
        for (var cut = 0; cut <= both.Length; cut++)
        {
            _master.NewLink();
            _line.OnWrite = written => Deliver(written.Length, both[..cut], both[cut..]);

            var transaction = Run(request);

            Assert.Equal((TransactionResult.Garbled, FrameFault.OwnRequest), (transaction.Result, transaction.Fault));
            Assert.True(_master.HearsItself);
            Assert.Equal(0, _line.Pending);
        }
    }

    [Theory]
    [MemberData(nameof(Pairs))]
    public void Run_OnlyTheRequestOnALineThatIsKnownToBringIt_IsNeverAReply(string request, string reply)
    {
        Assert.NotEmpty(reply);
        _line.OnWrite = Bring;
        Run(GoldenFrames.ReadHoldingRequest);

        for (var tries = 0; tries < 3; tries++)
        {
            var transaction = Run(request);
            Assert.Equal((TransactionResult.Garbled, FrameFault.OwnRequest), (transaction.Result, transaction.Fault));
        }
    }

    [Fact]
    public void Run_UrgentRepeatsOnALineThatBringsThem_AreNoLateReplies()
    {
        _line.OnWrite = Bring;
        Run(GoldenFrames.ReadHoldingRequest);

        for (var tries = 0; tries < 3; tries++)
        {
            var transaction = GoldenFrames.Transaction(GoldenFrames.WriteSingle);
            transaction.Urgent = true;
            _driver.Run(transaction);
            Assert.Equal(FrameFault.OwnRequest, transaction.Fault);
        }

        Assert.Equal(0, _master.LateReplies);
    }

    [Theory]
    [MemberData(nameof(SameBothWays))]
    public void Run_ReplyLikeItsRequestOnALineNobodyKnows_CountsOnceNoSecondOneCame(string request)
    {
        _line.OnWrite = written => Answer(written.Length, request);
        var begun = _line.Now;

        var first = Run(request);
        Assert.Equal(TransactionResult.Reply, first.Result);
        Assert.Equal(Lines.Usual.CharacterTime(first.RequestFrame.Length) + AnswersAfter, first.EndedAt - begun);
        Assert.True(_line.Now - begun >= Timeout);

        // Silence has told enough: the next is taken when it comes.
        begun = _line.Now;
        Assert.Equal(TransactionResult.Reply, Run(request).Result);
        Assert.True(_line.Now - begun < Timeout);
        Assert.False(_master.HearsItself);
    }

    [Theory]
    [MemberData(nameof(SameBothWays))]
    public void Run_ReplyLikeItsRequestBehindAnotherReply_IsTakenAtOnce(string request)
    {
        _line.OnWrite = written => Answer(written.Length, GoldenFrames.ReadHoldingReply);
        Assert.Equal(TransactionResult.Reply, Run(GoldenFrames.ReadHoldingRequest).Result);
        _line.OnWrite = written => Answer(written.Length, request);
        var begun = _line.Now;

        Assert.Equal(TransactionResult.Reply, Run(request).Result);
        Assert.True(_line.Now - begun < Timeout);
    }

    [Fact]
    public void Run_EchoSwitchedOff_IsForgottenWithTheNextReply()
    {
        _line.OnWrite = Bring;
        Run(GoldenFrames.ReadHoldingRequest);
        Assert.True(_master.HearsItself);

        _line.OnWrite = written => Answer(written.Length, GoldenFrames.ReadHoldingReply);
        Assert.Equal(TransactionResult.Reply, Run(GoldenFrames.ReadHoldingRequest).Result);
        Assert.False(_master.HearsItself);
    }

    [Fact]
    public void Run_ExceptionBehindTheRequest_IsNotBelievedEither()
    {
        _line.OnWrite = written => Deliver(written.Length, written, Hex.Bytes(GoldenFrames.ReadCoilsException));
        var transaction = new Transaction { ReplyTimeout = Timeout };
        transaction.ReadBits(1, 1, 0x4A1, 1);
        _driver.Run(transaction);
        Assert.Equal((TransactionResult.Garbled, FrameFault.OwnRequest), (transaction.Result, transaction.Fault));
    }

    /// <summary>With the right numbers a request has the length, byte count and check sum of its own reply.</summary>
    [Theory]
    [InlineData(FunctionCode.ReadWriteMultipleRegisters)]
    [InlineData(FunctionCode.ReadDiscreteInputs)]
    public void Run_RequestThatWouldPassForItsOwnReply_IsNotTakenForIt(byte function)
    {
        _line.OnWrite = Bring;
        var transaction = Passing(function);
        // It would: its own frame fits the shape that is expected.
        Assert.Equal(DecodeState.Frame, RtuDecoder.Reply(transaction.RequestFrame, transaction.Expected).State);

        _driver.Run(transaction);
        Assert.Equal((TransactionResult.Garbled, FrameFault.OwnRequest), (transaction.Result, transaction.Fault));

        // The same bytes from a device on a line that brings nothing are what it has to say.
        _line.OnWrite = written => Answer(written.Length, GoldenFrames.ReadHoldingReply);
        Run(GoldenFrames.ReadHoldingRequest);
        _line.OnWrite = Bring;
        Assert.Equal(TransactionResult.Reply, _driver.Run(Passing(function)));

        // And behind the request they are not.
        _line.OnWrite = written => Deliver(written.Length, written, written);
        transaction = Passing(function);
        _driver.Run(transaction);
        Assert.Equal((TransactionResult.Garbled, FrameFault.OwnRequest), (transaction.Result, transaction.Fault));
    }

    /// <summary>A write of several registers whose own beginning is the whole reply to it.</summary>
    [Fact]
    public void Run_BeginningOfTheRequestThatWouldPassForItsReply_IsNotTakenForIt()
    {
        var passing = new Transaction();
        for (ushort register = 0; ; register++)
        {
            var reply = Hex.WithCrc($"01 10 {register:X4} 00 01");
            if (reply[6] == 2)
            {
                passing.WriteMultiple(1, register, [(ushort)(reply[7] << 8)]);
                break;
            }
        }

        passing.ReplyTimeout = Timeout;
        Assert.Equal(DecodeState.Frame, RtuDecoder.Reply(passing.RequestFrame, passing.Expected).State);
        byte[] answer = [.. passing.RequestFrame[..8]];

        _line.OnWrite = written => Deliver(written.Length, written[..8], written[8..]);
        _driver.Run(passing);
        Assert.Equal((TransactionResult.Garbled, FrameFault.OwnRequest), (passing.Result, passing.Fault));

        _master.NewLink();
        _line.OnWrite = written => Deliver(written.Length, [], answer);
        Assert.Equal(TransactionResult.Reply, _driver.Run(passing));
    }

    private static Transaction Passing(byte function)
    {
        var transaction = new Transaction { ReplyTimeout = Timeout };
        if (function == FunctionCode.ReadDiscreteInputs)
        {
            transaction.ReadBits(1, function, 0x0305, 24);
        }
        else
        {
            transaction.ReadWrite(1, 0x1000, 8, 0, [1, 2, 3, 4]);
        }

        return transaction;
    }

    private Transaction Run(string request)
    {
        var transaction = GoldenFrames.Transaction(request);
        _driver.Run(transaction);
        return transaction;
    }

    private void Bring(byte[] request) => _line.Deliver(Lines.Usual.CharacterTime(request.Length), request);

    private void Answer(int requestBytes, string reply) => _line.Deliver(Lines.Usual.CharacterTime(requestBytes) + AnswersAfter, Hex.Bytes(reply));

    /// <summary>Two parts, the first while the request is on the wire.</summary>
    private void Deliver(int requestBytes, byte[] first, byte[] second)
    {
        var sent = Lines.Usual.CharacterTime(requestBytes);
        if (first.Length > 0)
        {
            _line.Deliver(sent, first);
        }

        if (second.Length > 0)
        {
            _line.Deliver(sent + AnswersAfter, second);
        }
    }
}
