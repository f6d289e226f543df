using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Outputs;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Outputs;

/// <summary>A drive's output that the machine file names: ordered through its cell, carried by the exchange, read back at a meeting.</summary>
public sealed class DriveOutputsTests
{
    private const int Outputs = 70;
    private const ushort Valve = 1;

    [Fact]
    public void Next_Ordered_IsWrittenAndAcknowledged()
    {
        var rig = Rig(readBack: false);
        rig.Meet();
        Cell(rig).Want(on: true);
        Assert.NotEqual(Cell(rig).Order.Number, Cell(rig).Read().Acknowledged);

        rig.Run(100);

        Assert.Equal(Valve, rig.Drives[0][Outputs]);
        Assert.Equal(Cell(rig).Order.Number, Cell(rig).Read().Acknowledged);
        Cell(rig).Want(on: false);
        rig.Run(100);
        Assert.Equal(0, rig.Drives[0][Outputs]);
        Assert.True(Cell(rig).Read() is { Known: true, On: false });
    }

    [Fact]
    public void Next_FirstMeetingOfOneThatIsReadBack_LeavesItAsItWas()
    {
        var rig = Rig(readBack: true);
        rig.Drives[0][Outputs] = Valve;

        rig.Meet();

        Assert.True(Cell(rig).Read() is { Known: true, On: true });
        Assert.All(Written(rig), value => Assert.Equal(Valve, value));
    }

    [Fact]
    public void Next_FirstMeetingOfOneThatIsNot_IsOff()
    {
        var rig = Rig(readBack: false);
        rig.Drives[0][Outputs] = Valve;

        rig.Meet();

        Assert.True(Cell(rig).Read() is { Known: true, On: false });
        Assert.Equal(0, rig.Drives[0][Outputs]);
    }

    [Fact]
    public void Next_OrderedBeforeTheMeeting_IsWhatTheMeetingWrites()
    {
        var rig = Rig(readBack: true);
        rig.Drives[0][Outputs] = Valve;
        Cell(rig).Want(on: false);

        rig.Meet();

        Assert.Equal(0, rig.Drives[0][Outputs]);
        Assert.Equal(Cell(rig).Order.Number, Cell(rig).Read().Acknowledged);
    }

    [Theory]
    [InlineData(OutputsAtTimeout.Hold, true)]
    [InlineData(OutputsAtTimeout.Off, false)]
    public void Next_SilenceWhileOn_IsAsTheDriveDoesAtItsTimeout(OutputsAtTimeout does, bool stays)
    {
        var rig = Rig(readBack: true, does);
        rig.Meet();
        Cell(rig).Want(on: true);
        rig.Run(100);

        rig.Fate = (_, _) => -1;
        rig.Run(1000);
        Assert.False(Cell(rig).Read().Known);
        rig.Fate = null;
        rig.Run(3000);

        Assert.True(Cell(rig).Read() is { Known: true, Acknowledged: 0 });
        Assert.Equal(stays, Cell(rig).Read().On);
        Assert.Equal(stays ? Valve : 0, rig.Drives[0][Outputs]);
    }

    [Fact]
    public void Next_DriveRestartedWithoutItsOutput_IsNotSwitchedOnAgain()
    {
        var rig = Rig(readBack: true);
        rig.Meet();
        Cell(rig).Want(on: true);
        rig.Run(100);

        rig.Drives[0][Outputs] = 0;
        rig.Drives[0].BootedAt = rig.Now;
        rig.Run(3000);

        Assert.True(Cell(rig).Read() is { Known: true, On: false, Losses: 1 });
        Assert.Equal(0, rig.Drives[0][Outputs]);
    }

    [Fact]
    public void Next_ReadingBackRefused_IsAFaultAndNotGuessed()
    {
        var rig = Rig(readBack: true);
        rig.Fate = (_, function) => function == 3 && IsOfOutputs(rig) ? 2 : 0;

        rig.Run(2000);

        Assert.False(rig.Axis(0).Online);
        Assert.False(Cell(rig).Read().Known);
        Assert.Empty(Written(rig));
        Assert.Contains(rig.Faults(), fault => fault.Code == Records.Faults.FaultCode.RequestRejected);
    }

    private static bool IsOfOutputs(StepperRig rig) => rig.Frames[^1].Frame is [_, 3, 0, Outputs, ..];

    private static List<ushort> Written(StepperRig rig) => [.. rig.Drives[0].Writes.Where(write => write.Register == Outputs).Select(write => write.Value)];

    private static OutputCell Cell(StepperRig rig) => rig.Board.Outputs.Cells[0];

    private static StepperRig Rig(bool readBack, OutputsAtTimeout atTimeout = OutputsAtTimeout.Unknown)
    {
        var drive = Parts.Words();
        drive = drive with
        {
            Command = [.. drive.Command.Select(field => field.Name == "digitalOutputs" ? field with { ReadBack = readBack } : field)],
            CommunicationTimeout = drive.CommunicationTimeout! with { Outputs = atTimeout },
        };
        var lamp = new OutputDefinition(
            "lamp", new OutputReference("slide.valve", OutputSource.Drive, 0, 0), [0], default, default, default, default, OutputState.Hold);
        return new StepperRig(Parts.Machine(Parts.Axis(drive: drive)) with { Outputs = [lamp] });
    }
}
