using Supervisor.Configuration.Drives;
using Supervisor.Drives.Exchange;
using Supervisor.Drives.Tests.Support;

namespace Supervisor.Drives.Tests.Exchange;

/// <summary>Registers that are numbered, ordered, shared or written in unusual ways (common practice of the trade).</summary>
public sealed class AwkwardRegistersTests
{
    [Theory]
    [InlineData(WordOrder.HighFirst, ByteOrder.HighFirst, 0x1234, 0x5678)]
    [InlineData(WordOrder.LowFirst, ByteOrder.HighFirst, 0x5678, 0x1234)]
    [InlineData(WordOrder.HighFirst, ByteOrder.LowFirst, 0x3412, 0x7856)]
    [InlineData(WordOrder.LowFirst, ByteOrder.LowFirst, 0x7856, 0x3412)]
    public void Slot_EveryOrderOfWordsAndBytes_ReadsWhatItPuts(WordOrder words, ByteOrder bytes, int first, int second)
    {
        var drive = Definitions.Words();
        var plan = new ExchangePlan(drive with { Wire = drive.Wire with { WordOrder = words, ByteOrder = bytes } });
        var slot = plan.Feedback("position");
        var registers = new ushort[plan.FeedbackRegisters];

        slot.PutRaw(registers, 0x12345678);

        Assert.Equal((first, second), (registers[slot.Offset], registers[slot.Offset + 1]));
        Assert.Equal(0x12345678u, slot.Raw(registers));
    }

    [Fact]
    public void Slots_OfOneRegisterToldApartByMasks_AreReadOnceAndKeepEachOther()
    {
        var plan = new ExchangePlan(Definitions.Words() with
        {
            Feedback =
            [
                Definitions.Field("statusword", 0, RegisterType.U16), Definitions.Field("errorCode", 1, RegisterType.U16) with { Mask = 0x00FF },
                Definitions.Field("torque", 1, RegisterType.S16) with { Mask = 0xFF00 }, Definitions.Field("position", 2, RegisterType.S32),
            ],
        });
        var registers = new ushort[plan.FeedbackRegisters];
        plan.Feedback("errorCode").PutRaw(registers, 0x1A5);
        plan.Feedback("torque").PutValue(registers, -3);

        Assert.Equal([new RegisterBlock(0, 4, 0) { ReadFunction = 3 }], plan.FeedbackBlocks);
        Assert.Equal(0xFDA5, registers[1]);
        Assert.Equal((0xA5, -3), (plan.Feedback("errorCode").Number(registers), plan.Feedback("torque").Number(registers)));
        Assert.Equal(8, plan.Feedback("torque").Bits);
    }

    [Fact]
    public void Kinds_AreReadByTheirFunctionsFromTheirOwnNumbers()
    {
        var drive = Definitions.Words();
        var plan = new ExchangePlan(drive with
        {
            Wire = drive.Wire with { FirstRegister = 40001, FirstInputRegister = 30001 },
            Feedback =
            [
                Definitions.Field("statusword", 40011, RegisterType.U16), Definitions.Field("position", 30012, RegisterType.S32) with { Kind = RegisterKind.Input },
            ],
            Command = [Definitions.Field("controlword", 40065, RegisterType.U16)],
        });

        Assert.Equal([new RegisterBlock(10, 1, 0) { ReadFunction = 3 }, new RegisterBlock(11, 2, 1) { ReadFunction = 4 }], plan.FeedbackBlocks);
        Assert.Equal(64, plan.CommandBlocks[0].Start);
        Assert.False(plan.WritesInOneReadWrite);
    }

    [Theory]
    [InlineData(WordOrder.HighFirst, WordSplit.HighThenLow, 66, 67)]
    [InlineData(WordOrder.HighFirst, WordSplit.LowThenHigh, 67, 66)]
    [InlineData(WordOrder.LowFirst, WordSplit.HighThenLow, 67, 66)]
    [InlineData(WordOrder.LowFirst, WordSplit.LowThenHigh, 66, 67)]
    public void SplitValue_OneWordChanged_GoesOutWholeInItsOrderBeforeControl(WordOrder order, WordSplit split, int first, int second)
    {
        var drive = Definitions.Words();
        var plan = new ExchangePlan(drive with { Wire = drive.Wire with { WriteFunction = 6, MaximumWrite = 1, HasReadWrite = false, WordOrder = order, Split = split } });
        var image = new CommandImage(plan, plan.Command("controlword").Offset);
        Write(plan, image);

        plan.Command("targetPosition").PutRaw(image.Wanted, 1);
        plan.Command("controlword").PutRaw(image.Wanted, 0x1F);

        Assert.Equal([first, second, 64], Write(plan, image));
        Assert.Equal(-1, image.NextChanged());
    }

    [Fact]
    public void SplitValue_ChangedBetweenItsWords_BeginsAnew()
    {
        var drive = Definitions.Words();
        var plan = new ExchangePlan(drive with { Wire = drive.Wire with { WriteFunction = 6, MaximumWrite = 1, HasReadWrite = false, Split = WordSplit.HighThenLow } });
        var image = new CommandImage(plan, plan.Command("controlword").Offset);
        Write(plan, image);
        plan.Command("targetPosition").PutRaw(image.Wanted, 0x10001);
        image.Confirm(image.NextChanged());

        plan.Command("targetPosition").PutRaw(image.Wanted, 0x20001);

        Assert.Equal([66, 67], Write(plan, image));
    }

    [Theory]
    [InlineData(WordSplit.HighThenLow)]
    [InlineData(WordSplit.LowThenHigh)]
    public void SplitValue_WithdrawnBetweenItsWords_StaysWhole(WordSplit split)
    {
        var drive = Definitions.Words();
        var plan = new ExchangePlan(drive with { Wire = drive.Wire with { WriteFunction = 6, MaximumWrite = 1, HasReadWrite = false, Split = split } });
        var image = new CommandImage(plan, plan.Command("controlword").Offset);
        Write(plan, image);
        var target = plan.Command("targetPosition");
        target.PutRaw(image.Wanted, 0x20001);
        image.Confirm(image.NextChanged());

        image.Withdraw(target);

        Assert.Equal(0x20001u, target.Raw(image.Wanted));
    }

    private static int[] Write(ExchangePlan plan, CommandImage image)
    {
        var written = new List<int>();
        for (var block = image.NextChanged(); block >= 0; block = image.NextChanged())
        {
            written.Add(plan.CommandBlocks[block].Start);
            image.Confirm(block);
        }

        return [.. written];
    }
}
