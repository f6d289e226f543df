using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

public sealed class TransactionTests
{
    private static readonly TimeSpan Now = TimeSpan.FromSeconds(7);

    public static TheoryData<string, string> Pairs => GoldenFrames.Pairs;

    [Theory]
    [MemberData(nameof(Pairs))]
    public void RequestFrame_GoldenExample_IsTheSpecifications(string request, string reply)
    {
        var transaction = GoldenFrames.Transaction(request);

        Assert.Equal(Hex.Bytes(request), transaction.RequestFrame.ToArray());
        Assert.Equal(transaction.Expected.HasObjects ? Transaction.MaximumFrameBytes : Hex.Bytes(reply).Length, transaction.Expected.Length);
    }

    [Theory]
    [MemberData(nameof(Pairs))]
    public void Accept_GoldenReply_IsReply(string request, string reply)
    {
        var transaction = GoldenFrames.Transaction(request);

        Assert.Equal(TransactionResult.Reply, transaction.Accept(Hex.Bytes(reply), Now));
        Assert.Equal(Hex.Bytes(reply), transaction.ReplyFrame.ToArray());
        Assert.Equal(Now, transaction.EndedAt);
    }

    [Fact]
    public void ReplyRegister_GoldenReads_AreTheSpecificationsValues()
    {
        // MODBUS Application Protocol V1.1b3, 6.3, 6.4 and 6.17.
        Assert.Equal([0x022B, 0x0000, 0x0064], Registers(GoldenFrames.ReadHoldingRequest, GoldenFrames.ReadHoldingReply));
        Assert.Equal([0x000A], Registers(GoldenFrames.ReadInputRequest, GoldenFrames.ReadInputReply));
        Assert.Equal([0x00FE, 0x0ACD, 0x0001, 0x0003, 0x000D, 0x00FF], Registers(GoldenFrames.ReadWriteRequest, GoldenFrames.ReadWriteReply));
        Assert.Empty(Registers(GoldenFrames.WriteSingle, GoldenFrames.WriteSingle));
    }

    [Fact]
    public void Accept_Exception_GivesItsCodeAndNoRegisters()
    {
        var transaction = GoldenFrames.Transaction(GoldenFrames.ReadHoldingRequest);

        Assert.Equal(TransactionResult.ExceptionReply, transaction.Accept(Hex.WithCrc("01 83 02"), Now));
        Assert.Equal(2, transaction.ExceptionCode);
        Assert.Equal(0, transaction.ReplyRegisterCount);
        Assert.Throws<ArgumentOutOfRangeException>(() => transaction.ReplyRegister(0));
    }

    [Theory]
    [InlineData("02 03 06 02 2B 00 00 00 64", FrameFault.WrongUnit)]
    [InlineData("01 04 06 02 2B 00 00 00 64", FrameFault.WrongFunction)]
    [InlineData("01 03 04 02 2B 00 00", FrameFault.WrongByteCount)]
    [InlineData("01 03 08 02 2B 00 00 00 64 00 00", FrameFault.WrongByteCount)]
    [InlineData("01 83 00", FrameFault.BadExceptionCode)]
    public void Accept_FrameOfAnotherShape_IsGarbled(string body, FrameFault fault)
    {
        var transaction = GoldenFrames.Transaction(GoldenFrames.ReadHoldingRequest);

        Assert.Equal(TransactionResult.Garbled, transaction.Accept(Hex.WithCrc(body), Now));
        Assert.Equal(fault, transaction.Fault);
        Assert.True(transaction.ReplyFrame.IsEmpty);
        Assert.Equal(0, transaction.ReplyRegisterCount);
    }

    [Theory]
    [InlineData("01 10 00 02 00 02")]
    [InlineData("01 10 00 01 00 03")]
    public void Accept_WriteEchoOfAnotherAddressOrQuantity_IsGarbled(string body)
    {
        var transaction = GoldenFrames.Transaction(GoldenFrames.WriteMultipleRequest);

        Assert.Equal(TransactionResult.Garbled, transaction.Accept(Hex.WithCrc(body), Now));
        Assert.Equal(FrameFault.WrongEcho, transaction.Fault);
    }

    [Fact]
    public void Accept_SingleWriteEchoOfAnotherValue_IsGarbled()
    {
        var transaction = GoldenFrames.Transaction(GoldenFrames.WriteSingle);

        Assert.Equal(TransactionResult.Garbled, transaction.Accept(Hex.WithCrc("01 06 00 01 00 04"), Now));
        Assert.Equal(FrameFault.WrongEcho, transaction.Fault);
    }

    [Fact]
    public void Begin_AfterAnEnd_ForgetsHowItEnded()
    {
        var transaction = GoldenFrames.Transaction(GoldenFrames.ReadHoldingRequest);
        transaction.Accept(Hex.WithCrc("01 83 06"), Now);

        transaction.Begin(Now);

        Assert.Equal(TransactionResult.None, transaction.Result);
        Assert.Equal(0, transaction.ExceptionCode);
        Assert.True(transaction.ReplyFrame.IsEmpty);
        Assert.Equal(Hex.Bytes(GoldenFrames.ReadHoldingRequest), transaction.RequestFrame.ToArray());
    }

    [Fact]
    public void Begin_WithoutARequest_Throws() => Assert.Throws<InvalidOperationException>(() => new Transaction().Begin(Now));

    [Theory]
    [InlineData(TransactionResult.None)]
    [InlineData(TransactionResult.Reply)]
    [InlineData(TransactionResult.ExceptionReply)]
    public void End_ResultThatNeedsAFrame_Throws(TransactionResult result) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => GoldenFrames.Transaction(GoldenFrames.WriteSingle).End(result, Now));

    [Fact]
    public void Urgent_NewRequest_StartsFalse()
    {
        var transaction = GoldenFrames.Transaction(GoldenFrames.WriteSingle);
        transaction.Urgent = true;

        transaction.WriteSingle(1, 1, 4);

        Assert.False(transaction.Urgent);
    }

    private static ushort[] Registers(string request, string reply)
    {
        var transaction = GoldenFrames.Transaction(request);
        transaction.Accept(Hex.Bytes(reply), Now);
        return [.. Enumerable.Range(0, transaction.ReplyRegisterCount).Select(transaction.ReplyRegister)];
    }
}
