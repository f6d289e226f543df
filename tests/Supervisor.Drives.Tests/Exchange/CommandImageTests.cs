using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Drives.Exchange;
using Supervisor.Drives.Tests.Support;

namespace Supervisor.Drives.Tests.Exchange;

/// <summary>What is written, in what order, and when again.</summary>
public sealed class CommandImageTests
{
    private readonly Transaction _transaction = new();

    /// <summary>Blocks: 20 (target), 62–63 (controlword, mode), 80 (velocity).</summary>
    private static CommandImage Scattered()
    {
        var drive = Definitions.Words() with
        {
            Command =
            [
                Definitions.Field("targetPosition", 20, RegisterType.S32), Definitions.Field("controlword", 62, RegisterType.U16),
                Definitions.Field("mode", 63, RegisterType.S16), Definitions.Field("profileVelocity", 80, RegisterType.U32),
            ],
        };
        var plan = new ExchangePlan(drive);
        return new CommandImage(plan, plan.Command("controlword").Offset);
    }

    [Fact]
    public void Everything_IsWrittenAtFirst_DataBeforeControl()
    {
        var image = Scattered();
        Assert.Equal([0, 2, 1], WriteAll(image));
        Assert.Equal(-1, image.NextChanged());
    }

    [Fact]
    public void Difference_AloneIsWritten_AndNothingWhenItGoesBack()
    {
        var image = Scattered();
        WriteAll(image);
        image.Wanted[4] = 7;
        Assert.Equal(2, image.NextChanged());
        image.Wanted[4] = 0;
        Assert.Equal(-1, image.NextChanged());
        image.Wanted[2] = 0x0F;
        image.Wanted[0] = 1;
        Assert.Equal([0, 1], WriteAll(image));
    }

    [Fact]
    public void Forget_MeansEverythingAgain()
    {
        var image = Scattered();
        WriteAll(image);
        Assert.True(image.IsControlHeld);
        image.Forget();
        Assert.False(image.IsControlHeld);
        Assert.Equal([0, 2, 1], WriteAll(image));
    }

    [Fact]
    public void Doubt_OfABlock_MeansThatBlockAgainThoughItLooksTheSame()
    {
        var image = Scattered();
        WriteAll(image);
        image.Doubt(2);
        Assert.True(image.IsControlHeld);
        Assert.Equal([2], WriteAll(image));
        image.DoubtControl();
        Assert.False(image.IsControlHeld);
        Assert.Equal([1], WriteAll(image));
    }

    [Fact]
    public void StopFrame_IsTheControlRegisterAlone()
    {
        var image = Scattered();
        WriteAll(image);
        image.Wanted[0] = 99;
        image.Wanted[2] = 0x02;
        image.WriteControl(_transaction, 5);
        Assert.Equal([5, 16, 0, 62, 0, 1, 2, 0, 2], _transaction.RequestFrame[..9].ToArray());
        Assert.False(image.IsControlHeld);
        image.ConfirmControl();
        Assert.True(image.IsControlHeld);

        // The rest is still to be written.
        Assert.Equal([0], WriteAll(image));
    }

    [Fact]
    public void StopFrame_BySingleWrites_IsOneOfThem()
    {
        var drive = Definitions.Words();
        var plan = new ExchangePlan(drive with { Wire = drive.Wire with { WriteFunction = 6, MaximumWrite = 1, HasReadWrite = false, FirstRegister = 1 } });
        var image = new CommandImage(plan, 0);
        image.Wanted[0] = 0x02;
        image.WriteControl(_transaction, 5);
        Assert.Equal([5, 6, 0, 63, 0, 2], _transaction.RequestFrame[..6].ToArray());
        Assert.Equal(63, image.ControlAddress);
        Assert.Equal([1, 2, 3, 4, 5, 6, 7, 0], WriteAll(image));
    }

    [Fact]
    public void Write_CarriesTheBlockAsItShouldBe()
    {
        var image = Scattered();
        image.Wanted[2] = 0x0F;
        image.Wanted[3] = 1;
        image.Write(_transaction, 5, 1);
        Assert.Equal([5, 16, 0, 62, 0, 2, 4, 0, 0x0F, 0, 1], _transaction.RequestFrame[..11].ToArray());
    }

    private static List<int> WriteAll(CommandImage image)
    {
        var blocks = new List<int>();
        for (var block = image.NextChanged(); block >= 0; block = image.NextChanged())
        {
            blocks.Add(block);
            image.Confirm(block);
        }

        return blocks;
    }
}
