using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

/// <summary>Coils and discrete inputs, both sides of the line: MODBUS Application Protocol V1.1b3, 6.1, 6.2, 6.5, 6.11 and 7.</summary>
public sealed class BitFunctionTests
{
    private static readonly TimeSpan Now = TimeSpan.FromSeconds(3);
    private readonly RtuSlave _slave = new();
    private readonly BitArray _map = new(2000);
    private readonly byte[] _reply = new byte[256];

    public BitFunctionTests() => _slave.Serve(1, _map);

    [Fact]
    public void Answer_GoldenReads_AreTheSpecificationsReplies()
    {
        // Values from memory: coils 20 to 38 hold CDh 6Bh 05h, inputs 197 to 218 ACh DBh 35h.
        Put(_map.Coils, 0x13, [0xCD, 0x6B, 0x05], 0x13);
        Put(_map.Inputs, 0xC4, [0xAC, 0xDB, 0x35], 0x16);

        Assert.Equal(Hex.Bytes(GoldenFrames.ReadBitsReply), Answer(Hex.Bytes(GoldenFrames.ReadBitsRequest)));
        Assert.Equal(Hex.Bytes(GoldenFrames.ReadInputsReply), Answer(Hex.Bytes(GoldenFrames.ReadInputsRequest)));
    }

    [Fact]
    public void Answer_GoldenWrites_SwitchTheCoilsAndNoOther()
    {
        Assert.Equal(Hex.Bytes(GoldenFrames.WriteCoil), Answer(Hex.Bytes(GoldenFrames.WriteCoil)));
        Assert.True(_map.Coils[0xAC]);
        Assert.Equal(Hex.Bytes(GoldenFrames.WriteCoilsReply), Answer(Hex.Bytes(GoldenFrames.WriteCoilsRequest)));

        int[] on = [.. Enumerable.Range(0, 2000).Where(i => _map.Coils[i])];
        Assert.Equal([0x13, 0x15, 0x16, 0x19, 0x1A, 0x1B, 0xAC], on);
        Answer(Hex.WithCrc("01 05 00 AC 00 00"));
        Assert.False(_map.Coils[0xAC]);
    }

    [Fact]
    public void Answer_ExampleOfTheException_IsTheSpecifications()
    {
        // Section 7: coil 1185 of a slave that has none there.
        var slave = new RtuSlave();
        slave.Serve(1, new BitArray(1185));

        Assert.Equal(Hex.Bytes(GoldenFrames.ReadCoilsException), _reply[..slave.Answer(Hex.Bytes(GoldenFrames.ReadCoilsRequest), _reply)]);
    }

    [Theory]
    [InlineData("01 01 00 00 00 00", 3)]
    [InlineData("01 01 00 00 07 D1", 3)] // 2001
    [InlineData("01 02 00 00 07 D1", 3)]
    [InlineData("01 05 00 01 FF 01", 3)] // neither FF00 nor 0000
    [InlineData("01 05 00 01 00 01", 3)]
    [InlineData("01 0F 00 00 00 00 00", 3)]
    [InlineData("01 0F 00 00 00 09 01 FF", 3)] // nine coils need two bytes
    [InlineData("01 0F 00 00 00 08 02 FF FF", 3)]
    [InlineData("01 0F FF FF 00 02 01 03", 2)]
    [InlineData("01 0F 07 CF 00 02 01 03", 2)]
    [InlineData("01 05 07 D0 FF 00", 2)]
    [InlineData("01 02 07 D0 00 01", 2)]
    [InlineData("01 03 00 00 00 01", 2)]
    public void Answer_BadRequest_IsItsExceptionAndSwitchesNothing(string body, byte exception)
    {
        var request = Hex.WithCrc(body);

        Assert.Equal(Hex.WithCrc($"01 {request[1] | 0x80:X2} {exception:X2}"), Answer(request));
        Assert.Equal(0, _map.Writes);
    }

    [Fact]
    public void Answer_MapWithoutBits_IsException1()
    {
        _slave.Serve(2, new RegisterArray(0, 10));

        foreach (var body in new[] { "02 01 00 00 00 01", "02 02 00 00 00 01", "02 05 00 00 FF 00", "02 0F 00 00 00 01 01 01" })
        {
            Assert.Equal(1, Answer(Hex.WithCrc(body))[2]);
        }
    }

    [Fact]
    public void Answer_MostBits_AreServed()
    {
        Assert.Equal(255, Answer(Hex.WithCrc("01 01 00 00 07 D0")).Length);
        var transaction = new Transaction();
        transaction.WriteCoils(1, 0, new bool[1968]);
        Assert.Equal(8, Answer(transaction.RequestFrame.ToArray()).Length);
    }

    [Fact]
    public void Answer_BroadcastOfCoils_SwitchesInSilence()
    {
        Assert.Empty(Answer(Hex.WithCrc("00 05 00 03 FF 00")));
        Assert.True(_map.Coils[3]);
        Assert.Empty(Answer(Hex.WithCrc("00 0F 00 03 00 01 01 00")));
        Assert.False(_map.Coils[3]);
        Assert.Empty(Answer(Hex.WithCrc("00 01 00 03 00 01")));
    }

    [Fact]
    public void ReplyBit_GoldenReads_AreTheSpecificationsBits()
    {
        var transaction = GoldenFrames.Transaction(GoldenFrames.ReadInputsRequest);
        transaction.Accept(Hex.Bytes(GoldenFrames.ReadInputsReply), Now);

        Assert.Equal(24, transaction.ReplyBitCount);
        Assert.Equal(0, transaction.ReplyRegisterCount);
        Assert.Equal([false, false, true, true, false, true, false, true], Enumerable.Range(0, 8).Select(transaction.ReplyBit));
        Assert.Equal([true, false, true, false, true, true, false, false], Enumerable.Range(16, 8).Select(transaction.ReplyBit));
        Assert.Throws<ArgumentOutOfRangeException>(() => transaction.ReplyBit(24));
    }

    [Fact]
    public void Accept_EchoOfTheOtherLevel_IsGarbled()
    {
        var transaction = GoldenFrames.Transaction(GoldenFrames.WriteCoil);

        Assert.Equal(TransactionResult.Garbled, transaction.Accept(Hex.WithCrc("01 05 00 AC 00 00"), Now));
        Assert.Equal(FrameFault.WrongEcho, transaction.Fault);
    }

    [Fact]
    public void Requests_QuantitiesOutsideTheLimits_Throw()
    {
        var transaction = new Transaction();

        Assert.Throws<ArgumentOutOfRangeException>(() => transaction.ReadBits(1, 1, 0, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => transaction.ReadBits(1, 1, 0, 2001));
        Assert.Throws<ArgumentOutOfRangeException>(() => transaction.ReadBits(1, 3, 0, 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => transaction.ReadBits(1, 2, 65535, 2));
        Assert.Throws<ArgumentOutOfRangeException>(() => transaction.WriteCoils(1, 0, []));
        Assert.Throws<ArgumentOutOfRangeException>(() => transaction.WriteCoils(1, 0, new bool[1969]));
    }

    private static void Put(bool[] bits, int start, byte[] bytes, int count)
    {
        for (var i = 0; i < count; i++)
        {
            bits[start + i] = (bytes[i / 8] & (1 << (i % 8))) != 0;
        }
    }

    private byte[] Answer(byte[] request) => _reply[.._slave.Answer(request, _reply)];
}
