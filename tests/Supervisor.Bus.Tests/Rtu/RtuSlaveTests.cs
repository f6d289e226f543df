using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

/// <summary>The slave against the examples and rules of MODBUS Application Protocol V1.1b3, sections 6 and 7.</summary>
public sealed class RtuSlaveTests
{
    private readonly RtuSlave _slave = new();
    private readonly RegisterArray _map = new(0, 200);
    private readonly byte[] _reply = new byte[256];

    public RtuSlaveTests() => _slave.Serve(1, _map);

    [Fact]
    public void Answer_GoldenRequests_AreTheSpecificationsReplies()
    {
        _map[0x6B] = 0x022B;
        _map[0x6D] = 0x0064;
        Assert.Equal(Hex.Bytes(GoldenFrames.ReadHoldingReply), Answer(Hex.Bytes(GoldenFrames.ReadHoldingRequest)));
        _map[8] = 0x000A;
        Assert.Equal(Hex.Bytes(GoldenFrames.ReadInputReply), Answer(Hex.Bytes(GoldenFrames.ReadInputRequest)));
        Assert.Equal(Hex.Bytes(GoldenFrames.WriteSingle), Answer(Hex.Bytes(GoldenFrames.WriteSingle)));
        Assert.Equal(3, _map[1]);
        Assert.Equal(Hex.Bytes(GoldenFrames.WriteMultipleReply), Answer(Hex.Bytes(GoldenFrames.WriteMultipleRequest)));
        Assert.Equal([0x000A, 0x0102], _map.Values[1..3]);
    }

    [Fact]
    public void Answer_GoldenReadWrite_WritesAndReads()
    {
        new ushort[] { 0x00FE, 0x0ACD, 0x0001, 0x0003, 0x000D, 0x00FF }.CopyTo(_map.Values, 3);

        Assert.Equal(Hex.Bytes(GoldenFrames.ReadWriteReply), Answer(Hex.Bytes(GoldenFrames.ReadWriteRequest)));
        Assert.Equal([0x00FF, 0x00FF, 0x00FF], _map.Values[0x0E..0x11]);
    }

    [Fact]
    public void Answer_ReadWriteOfTheSameRegisters_WritesFirst()
    {
        // "The write operation is performed before the read", 6.17.
        Assert.Equal(Hex.WithCrc("01 17 02 12 34"), Answer(Hex.WithCrc("01 17 00 05 00 01 00 05 00 01 02 12 34")));
    }

    [Theory]
    [InlineData("01 17 00 C8 00 01 00 05 00 01 02 12 34")] // reads past the map
    [InlineData("01 17 00 05 00 01 00 C8 00 01 02 12 34")] // writes past it
    [InlineData("01 17 FF FF 00 02 00 05 00 01 02 12 34")] // reads past the last register there is
    public void Answer_ReadWriteWithOneBadRange_IsException2AndWritesNothing(string body)
    {
        Assert.Equal(Hex.WithCrc("01 97 02"), Answer(Hex.WithCrc(body)));
        Assert.Equal(0, _map.Writes);
    }

    [Theory]
    [InlineData("01 03 00 60 00 04", "01 03 08 00 00 00 00 00 00 00 00")]
    [InlineData("01 03 00 60 00 05", "01 83 02")]
    public void Answer_RangeRuleOfOneHundredRegisters_IsTheSpecifications(string request, string reply)
    {
        // Section 7, exception 02: a controller with 100 registers, start 96.
        var slave = new RtuSlave();
        slave.Serve(1, new RegisterArray(0, 100));

        var length = slave.Answer(Hex.WithCrc(request), _reply);

        Assert.Equal(Hex.WithCrc(reply), _reply[..length]);
    }

    [Theory]
    [InlineData("01 01 04 A1 00 01", 1)] // the example of section 7 asks for coils: there are none here
    [InlineData("01 05 00 AC FF 00", 1)]
    [InlineData("01 2B 0E 01 00", 1)]
    [InlineData("01 64 00", 1)]
    [InlineData("01 03 00 00 00 00", 3)]
    [InlineData("01 03 00 00 00 7E", 3)] // 126
    [InlineData("01 04 00 00 00 7E", 3)]
    [InlineData("01 03 00 00", 3)] // too short for its function
    [InlineData("01 06 00 00 00", 3)]
    [InlineData("01 10 00 00 00 00 00", 3)]
    [InlineData("01 10 00 00 00 02 02 00 01", 3)] // byte count of one register
    [InlineData("01 10 00 00 00 02 04 00 01", 3)] // one register short
    [InlineData("01 17 00 00 00 00 00 00 00 01 02 00 01", 3)]
    [InlineData("01 17 00 00 00 7E 00 00 00 01 02 00 01", 3)]
    [InlineData("01 17 00 00 00 01 00 00 00 01 04 00 01", 3)]
    [InlineData("01 06 00 C8 00 01", 2)]
    [InlineData("01 10 FF FF 00 02 04 00 01 00 02", 2)]
    public void Answer_BadRequest_IsItsExceptionAndWritesNothing(string body, byte exception)
    {
        var request = Hex.WithCrc(body);

        Assert.Equal(Hex.WithCrc($"01 {request[1] | 0x80:X2} {exception:X2}"), Answer(request));
        Assert.Equal(0, _map.Writes);
    }

    [Fact]
    public void Answer_LimitsOfQuantities_AreServedAndOneMoreIsNot()
    {
        Assert.Equal(255, Answer(Hex.WithCrc("01 03 00 00 00 7D")).Length);
        Assert.Equal(8, Answer(WriteRequest(123, 123)).Length);
        Assert.Equal(Hex.WithCrc("01 90 03"), Answer(WriteRequest(124, 123)));
        // With 124 registers it is longer than a frame may be (256 bytes), so it is none.
        Assert.Empty(Answer(WriteRequest(124, 124)));
    }

    [Fact]
    public void Answer_BothAddressAndQuantityWrong_IsException2Or3()
    {
        // The specification's figures disagree on which comes first: either is right.
        var answer = Answer(Hex.WithCrc("01 03 FF FF 00 7E"));

        Assert.True(answer.SequenceEqual(Hex.WithCrc("01 83 02")) || answer.SequenceEqual(Hex.WithCrc("01 83 03")));
    }

    [Fact]
    public void Answer_EverySingleBitErrorOfAWrite_IsSilence()
    {
        // Bad CRC: silence (MODBUS over Serial Line V1.02, 2.6).
        var request = Hex.Bytes(GoldenFrames.WriteMultipleRequest);
        for (var bit = 0; bit < 8 * request.Length; bit++)
        {
            request[bit / 8] ^= (byte)(1 << (bit % 8));
            Assert.Empty(Answer(request));
            request[bit / 8] ^= (byte)(1 << (bit % 8));
        }

        Assert.Equal(0, _map.Writes);
    }

    [Theory]
    [InlineData("02 03 00 00 00 01")]
    [InlineData("F8 03 00 00 00 01")]
    [InlineData("01 83 02")]
    public void Answer_NotForThisSlave_IsSilence(string body) => Assert.Empty(Answer(Hex.WithCrc(body)));

    [Fact]
    public void Answer_BroadcastWrite_ReachesEveryAddressInSilence()
    {
        var second = new RegisterArray(0, 10);
        _slave.Serve(247, second);

        Assert.Empty(Answer(Hex.WithCrc("00 06 00 01 00 07")));
        Assert.Equal((7, 7), (_map[1], second[1]));
        Assert.Empty(Answer(Hex.WithCrc("00 10 00 01 00 01 02 00 08")));
        Assert.Equal((8, 8), (_map[1], second[1]));
        Assert.Empty(Answer(Hex.WithCrc("00 17 00 01 00 01 00 01 00 01 02 00 09")));
        Assert.Equal((8, 8), (_map[1], second[1]));
        Assert.Empty(Answer(Hex.WithCrc("00 03 00 01 00 01")));
    }

    [Theory]
    [InlineData(4)]
    [InlineData(6)]
    public void Answer_MapRefuses_IsItsException(byte exception)
    {
        _slave.Serve(2, new Refusing(exception));

        Assert.Equal(Hex.WithCrc($"02 83 {exception:X2}"), Answer(Hex.WithCrc("02 03 00 00 00 01")));
        Assert.Equal(Hex.WithCrc($"02 86 {exception:X2}"), Answer(Hex.WithCrc("02 06 00 00 00 01")));
    }

    [Fact]
    public void Serve_TakenOrImpossibleAddress_Throws()
    {
        Assert.Throws<ArgumentException>(() => _slave.Serve(1, _map));
        Assert.Throws<ArgumentOutOfRangeException>(() => _slave.Serve(0, _map));
        Assert.Throws<ArgumentOutOfRangeException>(() => _slave.Serve(248, _map));
    }

    [Fact]
    public void Withdraw_ServedAddress_FallsSilentUntilServedAgain()
    {
        Assert.True(_slave.Withdraw(1));
        Assert.False(_slave.Withdraw(1));
        Assert.Empty(Answer(Hex.Bytes(GoldenFrames.WriteSingle)));

        _slave.Serve(1, _map);
        Assert.Equal(Hex.Bytes(GoldenFrames.WriteSingle), Answer(Hex.Bytes(GoldenFrames.WriteSingle)));
    }

    private static byte[] WriteRequest(int quantity, int registers)
    {
        var body = $"01 10 00 00 00 {quantity:X2} {2 * registers:X2} " + string.Concat(Enumerable.Repeat("00 01 ", registers));
        return Hex.WithCrc(body);
    }

    private byte[] Answer(byte[] request) => _reply[.._slave.Answer(request, _reply)];

    private sealed class Refusing(byte exception) : IRegisterMap
    {
        public byte Read(ushort start, Span<ushort> values) => exception;

        public byte Write(ushort start, ReadOnlySpan<ushort> values) => exception;
    }
}
