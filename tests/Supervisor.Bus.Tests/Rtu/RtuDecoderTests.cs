using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

public sealed class RtuDecoderTests
{
    public static TheoryData<string, string> Pairs => GoldenFrames.Pairs;

    public static TheoryData<string> AllRequests => [.. GoldenFrames.Requests, .. GoldenFrames.OtherRequests];

    public static TheoryData<string> AllReplies => [.. GoldenFrames.Pairs.Select(pair => pair.Data.Item2), .. GoldenFrames.OtherReplies];

    [Theory]
    [MemberData(nameof(Pairs))]
    public void Reply_EveryPrefix_IsIncompleteAndConsumesNothing(string request, string reply)
    {
        var shape = GoldenFrames.Transaction(request).Expected;
        var frame = Hex.Bytes(reply);
        for (var length = 0; length < frame.Length; length++)
        {
            var decoded = RtuDecoder.Reply(frame.AsSpan(0, length), shape);
            Assert.Equal(DecodeState.Incomplete, decoded.State);
            Assert.Equal(0, decoded.Length);
        }

        Assert.Equal(new Decoded(DecodeState.Frame, frame.Length, FrameFault.None, false), RtuDecoder.Reply(frame, shape));
    }

    [Theory]
    [MemberData(nameof(AllRequests))]
    public void Request_EveryPrefix_IsIncomplete(string request)
    {
        var frame = Hex.Bytes(request);
        for (var length = 0; length < frame.Length; length++)
        {
            Assert.Equal(DecodeState.Incomplete, RtuDecoder.Request(frame.AsSpan(0, length)).State);
        }

        Assert.Equal(frame.Length, RtuDecoder.Request(frame).Length);
    }

    [Theory]
    [MemberData(nameof(AllReplies))]
    public void AnyReply_EveryPrefix_IsIncomplete(string reply)
    {
        var frame = Hex.Bytes(reply);
        for (var length = 0; length < frame.Length; length++)
        {
            Assert.Equal(DecodeState.Incomplete, RtuDecoder.AnyReply(frame.AsSpan(0, length)).State);
        }

        Assert.Equal(frame.Length, RtuDecoder.AnyReply(frame).Length);
    }

    [Theory]
    [MemberData(nameof(Pairs))]
    public void Reply_BytesBehindTheFrame_LeavesThem(string request, string reply)
    {
        byte[] received = [.. Hex.Bytes(reply), 0xAA, 0x55];

        Assert.Equal(received.Length - 2, RtuDecoder.Reply(received, GoldenFrames.Transaction(request).Expected).Length);
    }

    [Theory]
    [MemberData(nameof(Pairs))]
    public void Reply_EverySingleBitError_IsNoFrame(string request, string reply)
    {
        // The CRC finds every 1-bit error (Hamming distance 4, computed); the head is checked besides.
        var shape = GoldenFrames.Transaction(request).Expected;
        var frame = Hex.Bytes(reply);
        for (var bit = 0; bit < 8 * frame.Length; bit++)
        {
            frame[bit / 8] ^= (byte)(1 << (bit % 8));
            Assert.NotEqual(DecodeState.Frame, RtuDecoder.Reply(frame, shape).State);
            frame[bit / 8] ^= (byte)(1 << (bit % 8));
        }
    }

    [Theory]
    [MemberData(nameof(AllRequests))]
    public void Request_EverySingleBitError_IsNoFrame(string request)
    {
        var frame = Hex.Bytes(request);
        for (var bit = 0; bit < 8 * frame.Length; bit++)
        {
            frame[bit / 8] ^= (byte)(1 << (bit % 8));
            Assert.NotEqual(DecodeState.Frame, RtuDecoder.Request(frame).State);
            frame[bit / 8] ^= (byte)(1 << (bit % 8));
        }
    }

    [Fact]
    public void Reply_Exception_IsAFrameOfFiveBytes()
    {
        // The exception of MODBUS Application Protocol V1.1b3, section 7, as a reply to a request of that function.
        var shape = ReplyShape.OfRead(1, 1, 1);
        var frame = Hex.Bytes(GoldenFrames.ReadCoilsException);

        for (var length = 0; length < frame.Length; length++)
        {
            Assert.Equal(DecodeState.Incomplete, RtuDecoder.Reply(frame.AsSpan(0, length), shape).State);
        }

        Assert.Equal(new Decoded(DecodeState.Frame, 5, FrameFault.None, true), RtuDecoder.Reply(frame, shape));
    }

    [Theory]
    [InlineData("02", FrameFault.WrongUnit)]
    [InlineData("01 04", FrameFault.WrongFunction)]
    [InlineData("01 84", FrameFault.WrongFunction)]
    [InlineData("01 03 04", FrameFault.WrongByteCount)]
    [InlineData("01 03 FF", FrameFault.WrongByteCount)]
    public void Reply_WrongHead_IsRefusedBeforeTheBodyIsThere(string head, FrameFault fault) =>
        Assert.Equal(fault, RtuDecoder.Reply(Hex.Bytes(head), GoldenFrames.Transaction(GoldenFrames.ReadHoldingRequest).Expected).Fault);

    [Theory]
    [InlineData("01 10 00 00 00 7B F9")] // 249 data bytes make 258
    [InlineData("01 17 00 00 00 01 00 00 00 79 F4")] // 244 make 257
    public void Request_LongerThanAFrame_IsRefusedBeforeTheBodyIsThere(string head) =>
        Assert.Equal(FrameFault.WrongByteCount, RtuDecoder.Request(Hex.Bytes(head)).Fault);

    [Fact]
    public void AnyReply_LongerThanAFrame_IsRefusedBeforeTheBodyIsThere() =>
        Assert.Equal(FrameFault.WrongByteCount, RtuDecoder.AnyReply(Hex.Bytes("01 03 FC")).Fault);

    [Theory]
    [InlineData("01 00")]
    [InlineData("01 2B 0D")] // another interface
    [InlineData("01 64")]
    public void Request_UnknownFunction_HasNoKnownLength(string head) =>
        Assert.Equal(FrameFault.WrongFunction, RtuDecoder.Request(Hex.Bytes(head)).Fault);
}
