using Supervisor.Bus.Tests.Gpio;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Gpio;
using Supervisor.Runtime.Stops;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Gpio;

/// <summary>A guard of two GPIO lines, over the bytes of the kernel's interface.</summary>
public sealed class GpioStepperTests
{
    private readonly StandInKernel _kernel = new();
    private readonly StandInKernel.Chip _chip;
    private readonly MachineBoard _board;
    private readonly GpioStepper _stepper;
    private readonly List<(string Input, string Problem)> _told = [];
    private TimeSpan _now = TimeSpan.FromSeconds(10);

    public GpioStepperTests()
    {
        _chip = _kernel.AddChip("/dev/gpiochip3", "soc", 8);
        _chip.Lines[1].Wire = _chip.Lines[2].Wire = true;
        _chip.Lines[2].Name = "DOOR";
        var guard = new InterlockDefinition(
            "guard", InterlockKind.Guard, [Line("1"), Line("DOOR")], null, 1, [0], null, TimeSpan.Zero, TimeSpan.FromMilliseconds(100));
        _board = new MachineBoard(Parts.Machine(Parts.Axis()) with { Interlocks = [guard] });
        _stepper = new GpioStepper(_board, "soc", _kernel, (input, problem) => _told.Add((input, problem)));
    }

    [Fact]
    public void Step_LinesClosed_AreClosedAfterTheRelease()
    {
        Run(10);
        Assert.False(_board.Inputs.Read(0).Closed);
        Run(30);
        Assert.True(_board.Inputs.Read(0) is { Known: true, Closed: true });
        Assert.True(_board.Inputs.Read(1).Closed);
        Assert.Equal([("gpio:soc/1", ""), ("gpio:soc/DOOR", "")], _told);
        Assert.Equal(["soc"], GpioStepper.ChipsOf(_board));
    }

    [Fact]
    public void Step_OpenedAndShutBetweenTwoLooks_TripsAll()
    {
        Close();
        _chip.Lines[2].Change(false, _now + Ms(3));
        _chip.Lines[2].Change(true, _now + Ms(4));

        Run(10);

        Assert.True(IsTripped);
        Assert.Equal(_now - Ms(10) + Ms(3), _board.Inputs.Read(1).ChangedAt);
        Run(40);
        Assert.True(_board.Inputs.Read(1).Closed);
        Assert.True(IsTripped);
    }

    [Fact]
    public void Step_EdgesLostByTheKernel_TripThoughTheLevelIsClosed()
    {
        Close();
        _chip.Lines[1].Change(false, _now + Ms(1), isLost: true);
        _chip.Lines[1].Change(true, _now + Ms(2));

        Run(10);

        Assert.True(IsTripped);
    }

    [Fact]
    public void Step_MoreEdgesThanOneRead_TakesThemAll()
    {
        Close();
        for (var i = 0; i < 40; i++)
        {
            _chip.Lines[1].Change(i % 2 != 0, _now + Ms(i / 10.0));
        }

        Run(10);

        Assert.Empty(_chip.Lines[1].Events);
        Assert.True(IsTripped);
    }

    [Fact]
    public void Step_LevelWithoutAnEdge_Trips()
    {
        Close();
        _chip.Lines[1].Wire = false;

        Run(10);

        Assert.True(IsTripped);
        Assert.False(_board.Inputs.Read(0).Closed);
    }

    [Fact]
    public void Step_ChipGone_GrowsSilentTripsAndComesBackUntripped()
    {
        Close();
        _chip.IsGone = true;
        Run(50);
        Assert.False(IsTripped);
        Run(70);
        Assert.True(IsTripped);
        Assert.Contains(_told, told => told.Problem.Contains("does not answer any more", StringComparison.Ordinal));

        _chip.IsGone = false;
        Run(1100);
        Assert.False(_board.Inputs.Read(0).IsStale(_now, Ms(100)));
        Assert.True(_board.Inputs.Read(0).Closed);
        Assert.True(IsTripped);
        Assert.Equal(2, _kernel.OpenDescriptors);
    }

    [Fact]
    public void Step_LineHeldByAnother_IsSilentWhileItsNeighbourIsRead()
    {
        _chip.Lines[1].Consumer = "leds";
        Run(60);

        Assert.False(_board.Inputs.Read(0).Known);
        Assert.True(_board.Inputs.Read(1).Closed);
        Assert.Contains("held by \"leds\"", _told[0].Problem, StringComparison.Ordinal);

        _chip.Lines[1].Consumer = "";
        Run(1200);
        Assert.True(_board.Inputs.Read(0).Closed);
        Assert.Equal(3, _told.Count);
    }

    [Fact]
    public void Step_NoChip_IsAskedForOnceASecondAndToldOnce()
    {
        _kernel.Chips.Clear();
        Run(3000);

        Assert.Equal(2, _told.Count);
        Assert.False(_board.Inputs.Read(0).Known);
        Assert.Equal(_now, _stepper.Heartbeat);
    }

    [Fact]
    public void Step_SteadyState_AllocatesNothing()
    {
        Close();
        var before = GC.GetAllocatedBytesForCurrentThread();
        for (var i = 0; i < 100; i++)
        {
            _now += Ms(10);
            _stepper.Step(_now);
        }

        Assert.Equal(0, GC.GetAllocatedBytesForCurrentThread() - before);
    }

    [Fact]
    public void Close_GivesEveryLineBack()
    {
        Close();
        _stepper.Close();

        Assert.Equal(0, _kernel.OpenDescriptors);
        Assert.Equal("", _chip.Lines[1].Consumer);
    }

    private bool IsTripped => _board.Latch.IsStanding(StopCauses.Interlock(0));

    private static TimeSpan Ms(double ms) => TimeSpan.FromMilliseconds(ms);

    private static InputReference Line(string line) =>
        new($"gpio:soc/{line}", InputSource.Gpio, -1, null, null) { Gpio = new GpioReference("soc", line) };

    /// <summary>Steps every 10 ms, the last one at the end.</summary>
    private void Run(int ms)
    {
        for (var i = 0; i < ms / 10; i++)
        {
            _now += Ms(10);
            _stepper.Step(_now);
        }
    }

    private void Close()
    {
        Run(50);
        Assert.True(_board.Inputs.Read(0).Closed && _board.Inputs.Read(1).Closed);
        var cause = StopCauses.Interlock(0);
        _board.Latch.Reset(cause, _board.Latch.TripCount(cause));
        Assert.False(IsTripped);
    }
}
