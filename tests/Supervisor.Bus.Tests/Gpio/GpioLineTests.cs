using Supervisor.Bus.Gpio;

namespace Supervisor.Bus.Tests.Gpio;

/// <summary>Chips and lines against a stand-in for the kernel whose offsets are written out from linux/gpio.h.</summary>
public sealed class GpioLineTests
{
    private static readonly GpioLineSettings Input = new(IsOutput: false, ActiveLow: false, GpioBias.AsIs, InitialOn: false);
    private readonly StandInKernel _kernel = new();
    private readonly StandInKernel.Chip _chip;

    public GpioLineTests()
    {
        _kernel.AddChip("/dev/gpiochip0", "soc", 4);
        _chip = _kernel.AddChip("/dev/gpiochip1", "expander", 8);
    }

    [Fact]
    public void Open_ByLabel_FindsItAndClosesTheOthers()
    {
        using var chip = GpioChip.Open(_kernel, "expander", out var problem);

        Assert.Equal("", problem);
        Assert.Equal(("/dev/gpiochip1", 8), (chip!.Device, chip.Lines));
        Assert.Equal(1, _kernel.OpenDescriptors);
    }

    [Fact]
    public void Open_UnknownLabel_TellsWhichThereAre()
    {
        Assert.Null(GpioChip.Open(_kernel, "expand", out var problem));
        Assert.Equal("no GPIO chip with the label \"expand\"; there are \"soc\", \"expander\"", problem);
        Assert.Equal(0, _kernel.OpenDescriptors);
    }

    [Fact]
    public void Open_LabelTwice_RefusesToGuess()
    {
        _kernel.AddChip("/dev/gpiochip2", "expander", 8);

        Assert.Null(GpioChip.Open(_kernel, "expander", out var problem));
        Assert.Contains("two GPIO chips have the label", problem, StringComparison.Ordinal);
        Assert.Equal(0, _kernel.OpenDescriptors);
    }

    [Fact]
    public void Open_NoChip_TellsSo()
    {
        Assert.Null(GpioChip.Open(new StandInKernel(), "soc", out var problem));
        Assert.StartsWith("no GPIO chip is to be seen", problem, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("5", 5, "")]
    [InlineData("DOOR", 3, "")]
    [InlineData("8", null, "has 8 lines, 0 to 7")]
    [InlineData("GATE", null, "is named \"GATE\"")]
    [InlineData("TWIN", null, "give the offset")]
    public void Find_OffsetOrName_IsTheLine(string line, int? offset, string problem)
    {
        _chip.Lines[3].Name = "DOOR";
        _chip.Lines[1].Name = _chip.Lines[2].Name = "TWIN";
        using var chip = GpioChip.Open(_kernel, "expander", out _)!;

        Assert.Equal(offset, chip.Find(line, out var told));
        Assert.Contains(problem, told, StringComparison.Ordinal);
    }

    [Fact]
    public void Request_Input_AsksForBothEdgesBiasAndPolarity()
    {
        using var chip = GpioChip.Open(_kernel, "expander", out _)!;
        var line = GpioLine.Request(_kernel, chip, "2", Input with { ActiveLow = true, Bias = GpioBias.PullUp }, "axis-supervisor"u8, out var problem)!;

        // linux/gpio.h: active low 2, input 4, rising 10h, falling 20h, pull-up 100h.
        Assert.Equal("", problem);
        Assert.Equal(0x136UL, _chip.Lines[2].Flags);
        Assert.Equal("axis-supervisor", _chip.Lines[2].Consumer);
        Assert.True(line.Level());
        _chip.Lines[2].Wire = true;
        Assert.False(line.Level());
    }

    [Fact]
    public void Request_HeldByAnother_NamesIt()
    {
        _chip.Lines[2].Consumer = "leds";
        using var chip = GpioChip.Open(_kernel, "expander", out _)!;

        Assert.Null(GpioLine.Request(_kernel, chip, "2", Input, "axis-supervisor"u8, out var problem));
        Assert.Equal("line 2 of chip \"expander\": in use by another program or the kernel, held by \"leds\"", problem);
    }

    [Fact]
    public void Request_Output_HasItsLevelFromTheFirstMoment()
    {
        using var chip = GpioChip.Open(_kernel, "expander", out _)!;
        var line = GpioLine.Request(_kernel, chip, "4", new GpioLineSettings(true, ActiveLow: true, GpioBias.AsIs, InitialOn: true), "x"u8, out _)!;

        Assert.False(_chip.Lines[4].Wire);
        Assert.True(line.Set(false));
        Assert.True(_chip.Lines[4].Wire);
        line.Release();
        Assert.Equal("", _chip.Lines[4].Consumer);
    }

    [Fact]
    public void ReadEdges_Queued_CarryStampAndSequence()
    {
        using var chip = GpioChip.Open(_kernel, "expander", out _)!;
        var line = GpioLine.Request(_kernel, chip, "0", Input, "x"u8, out _)!;
        _chip.Lines[0].Change(true, TimeSpan.FromMilliseconds(5));
        _chip.Lines[0].Change(false, TimeSpan.FromMilliseconds(6), isLost: true);
        _chip.Lines[0].Change(true, TimeSpan.FromMilliseconds(7));
        var edges = new GpioEdge[8];

        Assert.Equal(2, line.ReadEdges(edges));
        Assert.Equal(new GpioEdge(TimeSpan.FromMilliseconds(5), true, 1), edges[0]);
        Assert.Equal(new GpioEdge(TimeSpan.FromMilliseconds(7), true, 3), edges[1]);
    }

    [Fact]
    public void Line_ChipGone_SaysSoInEveryCall()
    {
        using var chip = GpioChip.Open(_kernel, "expander", out _)!;
        var line = GpioLine.Request(_kernel, chip, "0", Input, "x"u8, out _)!;
        _chip.Lines[0].Change(true, TimeSpan.FromMilliseconds(5));
        _chip.IsGone = true;

        Assert.Null(line.Level());
        Assert.False(line.Set(true));
        Assert.Equal(-1, line.ReadEdges(new GpioEdge[4]));
    }
}
