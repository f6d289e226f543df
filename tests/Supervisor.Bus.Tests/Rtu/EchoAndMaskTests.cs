using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

/// <summary>Functions 8 and 22, both sides of the line: MODBUS Application Protocol V1.1b3, 6.8 and 6.16; exceptions of sub-functions are from memory.</summary>
public sealed class EchoAndMaskTests
{
    private static readonly TimeSpan Now = TimeSpan.FromSeconds(3);
    private readonly RtuSlave _slave = new();
    private readonly RegisterArray _map = new(0, 100);
    private readonly byte[] _reply = new byte[256];

    public EchoAndMaskTests() => _slave.Serve(1, _map);

    [Fact]
    public void Answer_GoldenEcho_ComesBackAndChangesNothing()
    {
        Assert.Equal(Hex.Bytes(GoldenFrames.Echo), Answer(Hex.Bytes(GoldenFrames.Echo)));
        Assert.Equal(0, _map.Writes);
    }

    [Theory]
    [InlineData("01 08 00 01 FF 00", "01 88 01")] // restarting is not served
    [InlineData("01 08 00 04 00 00", "01 88 01")] // nor is listening only
    [InlineData("01 08 00", "01 88 01")]
    [InlineData("01 08 00 00", "01 88 03")]
    public void Answer_OtherDiagnosis_IsItsException(string request, string reply) => Assert.Equal(Hex.WithCrc(reply), Answer(Hex.WithCrc(request)));

    [Fact]
    public void Answer_BroadcastEcho_IsSilence() => Assert.Empty(Answer(Hex.WithCrc("00 08 00 00 A5 37")));

    [Fact]
    public void Answer_GoldenMaskWrite_ChangesTheBitsAsTheExampleSays()
    {
        // 6.16: 12h with masks F2h and 25h becomes 17h.
        _map[4] = 0x0012;

        Assert.Equal(Hex.Bytes(GoldenFrames.MaskWrite), Answer(Hex.Bytes(GoldenFrames.MaskWrite)));
        Assert.Equal(0x0017, _map[4]);
    }

    [Theory]
    [InlineData(0xFFFF, 0x0000, 0x1234, 0x1234)] // keeps all
    [InlineData(0x0000, 0x5678, 0x1234, 0x5678)] // replaces all
    [InlineData(0xFF00, 0x0056, 0x1234, 0x1256)]
    [InlineData(0xFF00, 0xAA56, 0x1234, 0x1256)] // or-bits where and is 1 do nothing
    public void Answer_MaskWrite_FollowsTheFormula(int and, int or, int before, int after)
    {
        _map[7] = (ushort)before;
        var transaction = new Transaction();
        transaction.MaskWrite(1, 7, (ushort)and, (ushort)or);

        transaction.Accept(Answer(transaction.RequestFrame.ToArray()), Now);

        Assert.Equal(TransactionResult.Reply, transaction.Result);
        Assert.Equal(after, _map[7]);
    }

    [Theory]
    [InlineData("01 16 00 64 00 00 00 00", "01 96 02")]
    [InlineData("01 16 00 04 00 F2", "01 96 03")]
    public void Answer_BadMaskWrite_IsItsExceptionAndWritesNothing(string request, string reply)
    {
        Assert.Equal(Hex.WithCrc(reply), Answer(Hex.WithCrc(request)));
        Assert.Equal(0, _map.Writes);
    }

    [Theory]
    [InlineData(GoldenFrames.MaskWrite, "01 16 00 05 00 F2 00 25")]
    [InlineData(GoldenFrames.MaskWrite, "01 16 00 04 00 F3 00 25")]
    [InlineData(GoldenFrames.MaskWrite, "01 16 00 04 00 F2 00 24")]
    [InlineData(GoldenFrames.Echo, "01 08 00 00 A5 36")]
    [InlineData(GoldenFrames.Echo, "01 08 00 01 A5 37")]
    public void Accept_AnotherEcho_IsGarbled(string request, string reply)
    {
        var transaction = GoldenFrames.Transaction(request);

        Assert.Equal(TransactionResult.Garbled, transaction.Accept(Hex.WithCrc(reply), Now));
        Assert.Equal(FrameFault.WrongEcho, transaction.Fault);
    }

    [Fact]
    public void Requests_ToAll_Throw()
    {
        var transaction = new Transaction();

        Assert.Throws<ArgumentOutOfRangeException>(() => transaction.Echo(0, 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => transaction.MaskWrite(0, 1, 1, 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => transaction.Identify(0, IdentificationAccess.Basic, 0));
    }

    private byte[] Answer(byte[] request) => _reply[.._slave.Answer(request, _reply)];
}
