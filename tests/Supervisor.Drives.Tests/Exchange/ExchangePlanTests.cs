using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Drives.Exchange;
using Supervisor.Drives.Tests.Support;

namespace Supervisor.Drives.Tests.Exchange;

/// <summary>Registers cut into frames, and values put into registers.</summary>
public sealed class ExchangePlanTests
{
    [Fact]
    public void Blocks_NeverBridgeAGap()
    {
        var drive = Definitions.Words() with
        {
            Feedback = [Definitions.Field("statusword", 10, RegisterType.U16), Definitions.Field("position", 12, RegisterType.S32), Definitions.Field("velocity", 14, RegisterType.S32)],
        };
        Assert.Equal([new RegisterBlock(10, 1, 0) { ReadFunction = 3 }, new RegisterBlock(12, 4, 1) { ReadFunction = 3 }], new ExchangePlan(drive).FeedbackBlocks);
    }

    [Theory]
    [InlineData(32, new[] { 9 })]
    [InlineData(4, new[] { 3, 4, 2 })]
    [InlineData(3, new[] { 3, 3, 3 })]
    [InlineData(2, new[] { 1, 2, 2, 2, 2 })]
    public void Blocks_StayWithinTheDrivesLimitAndNeverCutAValue(int maximum, int[] counts)
    {
        var drive = Definitions.Words();
        var plan = new ExchangePlan(drive with { Wire = drive.Wire with { MaximumRead = maximum } });
        Assert.Equal(counts, plan.FeedbackBlocks.Select(block => (int)block.Count));
        Assert.Equal(plan.FeedbackRegisters, counts.Sum());
        Assert.All(plan.FeedbackBlocks.Zip(plan.FeedbackBlocks.Skip(1)), pair => Assert.Equal(pair.First.Offset + pair.First.Count, pair.Second.Offset));
    }

    [Fact]
    public void Fields_GivenOutOfOrder_AreSorted()
    {
        var drive = Definitions.Words();
        var plan = new ExchangePlan(drive with { Feedback = [.. drive.Feedback.Reverse()] });
        Assert.Equal([new RegisterBlock(0, 9, 0) { ReadFunction = 3 }], plan.FeedbackBlocks);
        Assert.Equal((0, 1, 3), (plan.Feedback("statusword").Offset, plan.Feedback("position").Offset, plan.Feedback("velocity").Offset));
        Assert.False(plan.Feedback("nothing").IsDeclared);
    }

    [Fact]
    public void SingleRegisterWrites_CutEveryRegister()
    {
        var drive = Definitions.Words();
        var plan = new ExchangePlan(drive with { Wire = drive.Wire with { WriteFunction = 6, MaximumWrite = 1, HasReadWrite = false } });
        Assert.Equal(8, plan.CommandBlocks.Length);
        Assert.All(plan.CommandBlocks, block => Assert.Equal(1, block.Count));
        Assert.Equal(Enumerable.Range(64, 8), plan.CommandBlocks.Select(block => (int)block.Start));
        Assert.False(plan.WritesInOneReadWrite);
    }

    [Fact]
    public void FirstRegister_IsTakenOff()
    {
        var drive = Definitions.Words();
        var plan = new ExchangePlan(drive with { Wire = drive.Wire with { FirstRegister = 1 }, Feedback = [Definitions.Field("statusword", 1, RegisterType.U16), Definitions.Field("position", 40, RegisterType.S32)] });
        Assert.Equal([new RegisterBlock(0, 1, 0) { ReadFunction = 3 }, new RegisterBlock(39, 2, 1) { ReadFunction = 3 }], plan.FeedbackBlocks);
        Assert.Equal(63, plan.CommandBlocks[0].Start);
        Assert.Equal(99, plan.Address(Definitions.Field("uptime", 100, RegisterType.U32)));
    }

    [Fact]
    public void ReadWriteInOne_NeedsTheFunctionAndOneBlockEachWay()
    {
        var drive = Definitions.Words();
        Assert.True(new ExchangePlan(drive).WritesInOneReadWrite);
        Assert.False(new ExchangePlan(drive with { Wire = drive.Wire with { HasReadWrite = false } }).WritesInOneReadWrite);
        Assert.False(new ExchangePlan(drive with { Wire = drive.Wire with { MaximumWrite = 4 } }).WritesInOneReadWrite);
    }

    [Theory]
    [InlineData(RegisterType.U16, 1, 65_535, 65_535, 0xFFFF)]
    [InlineData(RegisterType.U16, 1, 70_000, 65_535, 0xFFFF)]
    [InlineData(RegisterType.U16, 1, -5, 0, 0)]
    [InlineData(RegisterType.U16, 0.1, 25.04, 25, 250)]
    [InlineData(RegisterType.S16, 1, -5, -5, 0xFFFB)]
    [InlineData(RegisterType.S16, 10, -400_000, -327_680, 0x8000)]
    [InlineData(RegisterType.S16, -1, 5, 5, 0xFFFB)]
    [InlineData(RegisterType.U32, 1, 5e9, 4_294_967_295, 0xFFFF_FFFF)]
    [InlineData(RegisterType.U32, 0.5, 3, 3, 6)]
    [InlineData(RegisterType.S32, 1, -2, -2, 0xFFFF_FFFE)]
    [InlineData(RegisterType.S32, 1, 3e9, 2_147_483_647, 0x7FFF_FFFF)]
    public void Values_AreScaledRoundedAndHeldInRange(RegisterType type, double scale, double value, double expected, uint raw)
    {
        foreach (var order in new[] { WordOrder.HighFirst, WordOrder.LowFirst })
        {
            var drive = Definitions.Words();
            drive = drive with
            {
                Wire = drive.Wire with { WordOrder = order },
                Command = [Definitions.Field("controlword", 64, RegisterType.U16), Definitions.Field("profileVelocity", 65, type, scale)],
            };
            var slot = new ExchangePlan(drive).Command("profileVelocity");
            var registers = new ushort[4];
            slot.PutValue(registers, value);
            Assert.Equal(expected, slot.Value(registers), 9);
            Assert.Equal(raw, slot.Raw(registers));
            Assert.Equal(0, registers[0]);
            Assert.Equal((ushort)raw, slot.IsWide && order == WordOrder.HighFirst ? registers[2] : registers[1]);
            Assert.Equal(slot.IsWide ? 32 : 16, slot.Bits);
        }
    }

    [Fact]
    public void UndeclaredField_ReadsZeroAndTakesNothing()
    {
        var registers = new ushort[] { 7 };
        FieldSlot slot = default;
        slot.PutValue(registers, 5);
        slot.PutRaw(registers, 5);
        Assert.Equal(0u, slot.Raw(registers));
        Assert.Equal(7, registers[0]);
        BitSlot bit = default;
        bit.Put(registers, true);
        Assert.False(bit.Get(registers));
        Assert.Equal(7, registers[0]);
    }

    [Theory]
    [InlineData(40_000, -25_536)]
    [InlineData(-40_000, 25_536)]
    public void Target_BeyondItsRegister_WrapsAsTheCounterDoes(double counts, int expected)
    {
        var drive = Definitions.Words();
        var rig = new CodingRig(drive with { Command = [Definitions.Field("controlword", 64, RegisterType.U16), Definitions.Field("mode", 65, RegisterType.S16), Definitions.Field("targetPosition", 66, RegisterType.S16)] });
        rig.Coding.PutTarget(rig.Image, counts);
        Assert.Equal(expected, rig.Wanted("targetPosition"));
    }

    [Fact]
    public void ReadWrite_CarriesWholeCommandAndWholeFeedback()
    {
        var rig = new CodingRig(Definitions.Words());
        rig.Image.Wanted[0] = 0x1234;
        var transaction = new Transaction();
        rig.Image.WriteAndRead(transaction, 9);
        Assert.Equal([9, 23, 0, 0, 0, 9, 0, 64, 0, 8, 16, 0x12, 0x34], transaction.RequestFrame[..13].ToArray());
    }
}
