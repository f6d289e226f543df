using Supervisor.Bus.Tests.Gpio;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Gpio;
using Supervisor.Runtime.Outputs;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Gpio;

/// <summary>An output of a GPIO chip, over the bytes of the kernel's interface.</summary>
public sealed class GpioOutputsTests
{
    private readonly StandInKernel _kernel = new();
    private readonly StandInKernel.Chip _chip;
    private readonly MachineBoard _board;
    private readonly GpioStepper _stepper;
    private readonly List<(string Line, string Problem)> _told = [];
    private TimeSpan _now = TimeSpan.FromSeconds(10);

    public GpioOutputsTests()
    {
        _chip = _kernel.AddChip("/dev/gpiochip3", "soc", 8);
        _board = Board();
        _stepper = Stepper(_board);
    }

    private StandInKernel.Line Wire => _chip.Lines[5];

    private OutputCell Cell => _board.Outputs.Cells[0];

    [Fact]
    public void Step_NothingOrdered_IsReadAndNotTouched()
    {
        Wire.Wire = true;
        Step(5);

        Assert.True(Cell.Read() is { Known: true, On: true, Acknowledged: 0 });
        Assert.Empty(Wire.Given);
        Assert.False(Wire.IsOutput);
        Assert.Equal(["soc"], GpioStepper.ChipsOf(_board));
    }

    /// <summary>The line was driven by a process that is gone: it is known before it is driven again, and never given another level in between.</summary>
    [Fact]
    public void Step_StartAfterAnotherThatHeldIt_GivesNoOtherLevelInBetween()
    {
        Cell.Want(on: true);
        Step(2);
        _stepper.Close();
        Wire.Given.Clear();

        var next = Board();
        var stepper = Stepper(next);
        stepper.Step(_now);
        Assert.True(next.Outputs.Cells[0].Read() is { Known: true, On: true });
        next.Outputs.Cells[0].Want(on: next.Outputs.Cells[0].Read().On);
        stepper.Step(_now);

        Assert.True(Wire.Wire && Wire.IsOutput);
        Assert.All(Wire.Given, Assert.True);
    }

    [Fact]
    public void Step_Ordered_IsSetReadBackAndAcknowledged()
    {
        Cell.Want(on: true);
        Step(1);
        Assert.True(Wire.Wire && Wire.IsOutput);
        Assert.Equal(Cell.Order.Number, Cell.Read().Acknowledged);

        Cell.Want(on: false);
        Step(1);

        Assert.False(Wire.Wire);
        Assert.Equal([true, false], Wire.Given);
        Assert.True(Cell.Read().Acknowledged == Cell.Order.Number && !Cell.Read().On);
    }

    [Fact]
    public void Step_WireDoesNotFollow_IsNotAcknowledgedAndTriedAgain()
    {
        Step(1);
        Wire.IsStuck = true;
        Cell.Want(on: true);
        Step(3);
        Assert.True(Cell.Read() is { Known: true, On: false, Acknowledged: 0 });

        Wire.IsStuck = false;
        Step(1);

        Assert.Equal(Cell.Order.Number, Cell.Read().Acknowledged);
    }

    [Fact]
    public void Step_ChipGoneWhileOn_IsNotSwitchedOnAgainByItself()
    {
        Cell.Want(on: true);
        Step(1);
        _chip.IsGone = true;
        Step(1);
        Assert.False(Cell.Read().Known);

        _chip.IsGone = false;
        Wire.Wire = false;
        Wire.Given.Clear();
        Step(150);

        Assert.True(Cell.Read() is { Known: true, On: false, Acknowledged: 0, Losses: 1 });
        Assert.Empty(Wire.Given);
        Assert.Equal(["", "chip \"soc\" does not answer any more: check its connection", ""], _told.Select(told => told.Problem));
    }

    [Fact]
    public void Step_LineHeldByAnother_IsToldWithItsHolder()
    {
        Wire.Consumer = "leds";
        Step(10);

        Assert.False(Cell.Read().Known);
        Assert.Contains("held by \"leds\"", Assert.Single(_told).Problem, StringComparison.Ordinal);
    }

    [Fact]
    public void Step_SteadyState_AllocatesNothing()
    {
        Cell.Want(on: true);
        Step(2);
        var before = GC.GetAllocatedBytesForCurrentThread();
        for (var i = 0; i < 100; i++)
        {
            Cell.Want(i % 2 == 0);
            _now += TimeSpan.FromMilliseconds(10);
            _stepper.Step(_now);
        }

        // The list of the stand-in grows.
        Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, 1024);
        Assert.Equal(_now, _stepper.Heartbeat);
    }

    /// <summary>On is the low level from the first moment, and read back as on; a start after another finds it so.</summary>
    [Fact]
    public void Step_ActiveLow_IsOnAtTheLowLevelAndHeldOverAStart()
    {
        Wire.Wire = true;
        var board = Board(activeLow: true);
        var stepper = Stepper(board);
        stepper.Step(_now);
        Assert.True(board.Outputs.Cells[0].Read() is { Known: true, On: false });
        Assert.False(Wire.IsOutput);

        board.Outputs.Cells[0].Want(on: true);
        stepper.Step(_now);
        Assert.True(Wire.IsOutput && !Wire.Wire);
        Assert.True(board.Outputs.Cells[0].Read() is { On: true, Acknowledged: not 0 });
        board.Outputs.Cells[0].Want(on: false);
        stepper.Step(_now);
        Assert.True(Wire.Wire);
        board.Outputs.Cells[0].Want(on: true);
        stepper.Step(_now);
        stepper.Close();

        var next = Board(activeLow: true);
        Stepper(next).Step(_now);
        Assert.True(next.Outputs.Cells[0].Read() is { Known: true, On: true });
        Assert.False(Wire.Wire);
    }

    private static MachineBoard Board(bool activeLow = false) => new(Parts.Machine(Parts.Axis()) with
    {
        Outputs =
        [
            new OutputDefinition(
                "lamp", new OutputReference("gpio:soc/5", OutputSource.Gpio, -1, -1) { Gpio = new GpioReference("soc", "5"), ActiveLow = activeLow }, [0],
                OutputState.Hold, OutputState.Hold, OutputState.Hold, OutputState.Hold, OutputState.Hold),
        ],
    });

    private GpioStepper Stepper(MachineBoard board) => new(board, "soc", _kernel, (line, problem) => _told.Add((line, problem)));

    private void Step(int times)
    {
        for (var i = 0; i < times; i++)
        {
            _now += TimeSpan.FromMilliseconds(10);
            _stepper.Step(_now);
        }
    }
}
