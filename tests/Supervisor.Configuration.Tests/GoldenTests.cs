using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Routines;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Tests;

public sealed class GoldenTests
{
    [Fact]
    public void Read_ExampleMachine_EveryMemberArrives()
    {
        var machine = Samples.Machine(Samples.Example("machine.json"));

        Assert.Equal("Tray seeder", machine.Name);
        var port = Assert.Single(machine.Ports);
        Assert.Equal(
            new PortDefinition(
                "line-a", "/dev/serial/by-path/platform-usb-0:1:1.0-port0", 115200, ParityKind.None, 1, TimeSpan.FromMilliseconds(40),
                new GapDefinition(GapKind.Standard, TimeSpan.Zero), TimeSpan.FromMilliseconds(20), 2),
            port);
        Assert.Equal(["dibber", "tray", "gantry", "drum"], machine.Axes.Select(axis => axis.Name));

        var dibber = machine.Axes[0];
        Assert.Equal((0, (byte)3, "Reference drive", "mm", 1000.0, false), (dibber.Port, dibber.Address, dibber.Drive.Name, dibber.Unit, dibber.CountsPerUnit, dibber.Inverted));
        Assert.Equal(new LimitsDefinition(0, 180, 250, 2000, 2000, 40000), dibber.Limits);
        Assert.Equal(new InPositionDefinition(0.05, TimeSpan.FromMilliseconds(20)), dibber.InPosition);
        Assert.Equal(new FollowingErrorDefinition(2, TimeSpan.FromMilliseconds(60)), dibber.FollowingError);
        Assert.Equal(new TorqueDefinition(30, 100, 60, 25, 150), dibber.Torque);
        Assert.Equal(new HomingDefinition(17, 40, 5, 0, TimeSpan.FromSeconds(20), 1), dibber.Homing);
        Assert.Equal(ReferenceKind.Incremental, dibber.Reference);
        Assert.True(dibber.GravityLoaded);
        Assert.Equal(new BrakeDefinition(TimeSpan.FromMilliseconds(80), TimeSpan.FromMilliseconds(60)), dibber.Brake);
        Assert.Equal(TimeSpan.FromMilliseconds(250), dibber.CommunicationTimeout);
        var recovery = Assert.Single(dibber.Recovery);
        Assert.Equal([FaultClass.Link], recovery.Faults);
        Assert.Equal(BackOffDefinition.Default, recovery.BackOff);
        Assert.Equal((3, TimeSpan.FromMinutes(1), RecoveryAction.ResetAndHome), (recovery.Attempts, recovery.Within, recovery.Then));

        var drum = machine.Axes[3];
        Assert.Equal(360, drum.EndlessPeriod);
        Assert.Equal(new LimitsDefinition(null, null, 720, 3600, 3600, null), drum.Limits);
        Assert.Equal(ReferenceKind.None, drum.Reference);
        Assert.Null(drum.Homing);
        Assert.Null(drum.Group);

        var group = Assert.Single(machine.Groups);
        Assert.Equal("head", group.Name);
        Assert.Equal([0, 2], group.Axes);
        Assert.Equal(0, dibber.Group);
    }

    [Fact]
    public void Read_ExampleMachine_InterlocksAreResolved()
    {
        var machine = Samples.Machine(Samples.Example("machine.json"));

        var stop = machine.Interlocks[0];
        Assert.Equal(InterlockKind.EmergencyStop, stop.Kind);
        Assert.Equal(new InputReference("tray.input1", InputSource.Drive, 1, new BitReference("digitalInputs", 0, false), null), stop.Inputs[0]);
        Assert.Equal(new InputReference("tray.input2", InputSource.Drive, 1, new BitReference("digitalInputs", 1, false), null), stop.Inputs[1]);
        Assert.Equal(new InputReference("tray.input3", InputSource.Drive, 1, new BitReference("digitalInputs", 2, false), null), stop.ResetInput);
        Assert.Equal([0, 1, 2, 3], stop.Axes);
        Assert.Equal(TimeSpan.FromMilliseconds(100), stop.Discrepancy);
        Assert.Equal(TimeSpan.Zero, stop.TripDelay);
        Assert.Equal(TimeSpan.FromMilliseconds(200), stop.StaleAfter);

        Assert.Equal((InterlockKind.Guard, 1), (machine.Interlocks[1].Kind, machine.Interlocks[1].StopCategory));
        Assert.Equal([2, 0], machine.Interlocks[1].Axes);

        var vacuum = machine.Interlocks[2];
        Assert.Equal((InterlockKind.Process, 2, TimeSpan.FromMilliseconds(500)), (vacuum.Kind, vacuum.StopCategory, vacuum.TripDelay));
        Assert.Null(vacuum.ResetInput);
        Assert.Null(vacuum.Discrepancy);
    }

    [Fact]
    public void Read_ExampleDrive_EveryMemberArrives()
    {
        var drive = Samples.Drive(Samples.Example("reference.drive.json"));

        Assert.Equal(StateCoding.Cia402, drive.Coding);
        Assert.Null(drive.States);
        Assert.Null(drive.Commands);
        Assert.Equal((3, 32, 16, 32, true), (drive.Wire.ReadFunction, drive.Wire.MaximumRead, drive.Wire.WriteFunction, drive.Wire.MaximumWrite, drive.Wire.HasReadWrite));
        Assert.Equal((WordOrder.HighFirst, 0, TimeSpan.FromMilliseconds(0.2), false), (drive.Wire.WordOrder, drive.Wire.FirstRegister, drive.Wire.Turnaround, drive.Wire.BroadcastStop));
        Assert.Equal([6], drive.Wire.BusyExceptions);
        Assert.Equal(["statusword", "position", "velocity", "torque", "errorCode", "digitalInputs"], drive.Feedback.Select(field => field.Name));
        Assert.Equal(new RegisterField("torque", 5, RegisterType.S16, 0.1, null, RegisterAccess.Read), drive.FeedbackField("torque"));
        Assert.Equal(7, drive.Command.Count);
        Assert.Equal(new RegisterField("uptime", 130, RegisterType.U32, 1, "ms", RegisterAccess.Read), drive.Parameter("uptime"));
        Assert.Equal(new BitReference("digitalInputs", 2, false), drive.Inputs["input3"]);
        Assert.Equal(new CommunicationTimeoutDefinition(TimeoutFeed.AnyFrame, TimeoutReaction.QuickStopThenOff), drive.CommunicationTimeout);
        Assert.Equal(TimeSpan.Zero, drive.Refresh);
    }

    [Fact]
    public void Read_DriveWithBits_BitsAreResolved()
    {
        var drive = Samples.Drive(Samples.Example("bits.drive.json"));

        Assert.Equal(StateCoding.Bits, drive.Coding);
        Assert.Equal(new BitReference("status", 3, false), drive.States!.Fault);
        Assert.Equal(new BitReference("command", 1, true), drive.Commands!.Go);
        Assert.Equal(new BitReference("command", 0, false), drive.Commands.Power);
        Assert.Equal((WordOrder.LowFirst, 1, false), (drive.Wire.WordOrder, drive.Wire.FirstRegister, drive.Wire.HasReadWrite));
        Assert.Null(drive.CommunicationTimeout);
    }

    [Fact]
    public void Read_ExampleRoutine_StepsAreResolved()
    {
        var machine = Samples.Machine(Samples.Example("machine.json"));
        var routine = Samples.Routine(Samples.Example("sow-tray.routine.json"), machine);

        Assert.Equal("sow tray", routine.Name);
        Assert.Equal(new RoutineParameter("depth", 30, 5, 60, "mm"), Assert.Single(routine.Parameters));
        var lift = Assert.IsType<MoveStep>(routine.Steps[0]);
        Assert.Equal([new AxisTarget(0, new RoutineValue(0, null), false)], lift.Targets);
        Assert.Null(lift.Velocity);
        var index = Assert.IsType<MoveStep>(routine.Steps[1]);
        Assert.Equal([new AxisTarget(1, new RoutineValue(320, null), true)], index.Targets);
        Assert.Equal(new RoutineValue(200, null), index.Velocity);
        Assert.Equal(
            new ContactStep("dib", 0, new RoutineValue(0, "depth"), new RoutineValue(20, null), new RoutineValue(30, null)), routine.Steps[3]);
        Assert.Equal(new WaitStep("settle", TimeSpan.FromMilliseconds(200)), routine.Steps[4]);
        var again = Assert.IsType<RepeatStep>(routine.Steps[5]);
        Assert.Equal([0, 2, 3], again.Steps);
        Assert.Equal(3, again.Times);
    }

    [Fact]
    public void Read_DemoMachine_IsGoodAndHomesTheDibberFirst()
    {
        var machine = Samples.Machine(Samples.Demo("machine.json"));
        Samples.Routine(Samples.Demo("sow-tray.routine.json"), machine);

        var homed = machine.Axes.Where(axis => axis.Homing is not null).OrderBy(axis => axis.Homing!.Order).Select(axis => axis.Name);
        Assert.Equal(["dibber", "gantry"], homed);
        Assert.True(machine.Axes[machine.AxisIndex("dibber")].GravityLoaded);
        Assert.Equal(["line-a", "line-b"], machine.Ports.Select(port => port.Name));
    }
}
