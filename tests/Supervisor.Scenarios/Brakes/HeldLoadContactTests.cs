using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;
using static Supervisor.Scenarios.Brakes.HeldLoadTests;

namespace Supervisor.Scenarios.Brakes;

/// <summary>A held load over a lost line, and over the end of one supervisor and the start of another: whoever meets its drive must not drop it.</summary>
public sealed class HeldLoadContactTests
{
    private const byte ReadRegisters = 3;

    [Theory]
    [InlineData("cia402")]
    [InlineData("bits")]
    public void Line_LostForLessThanTheDrivesTimeout_LeavesTheLoadHeld(string coding)
    {
        var (world, place) = Holding(seed: 1, coding, interlocks: false);
        world.Ports[0].IsUnplugged = true;
        world.Run(0.1);
        world.Ports[0].IsUnplugged = false;
        world.RunUntil(() => world.Snapshot("slide").Online, 2, "met again");
        for (var i = 0; i < 100; i++)
        {
            world.Run(0.02);
            Assert.True(world.Drive("slide").Plant.Powered);
        }

        AssertHolds(world, place);
        Assert.Equal(FaultCode.BrakeProofFailed, Assert.Single(world.Faults).Code);
        world.Do("slide", AxisCommandKind.LoadSupported);
    }

    /// <summary>The drive's own reaction took the torque meanwhile, which nobody could prevent; it is told, and no word gives it back.</summary>
    [Theory]
    [InlineData("cia402")]
    [InlineData("bits")]
    public void Line_LostForLongerThanTheDrivesTimeout_IsToldAndEnergisesNothing(string coding)
    {
        var (world, _) = Holding(seed: 2, coding, interlocks: false);
        world.Ports[0].IsUnplugged = true;
        world.RunUntil(() => !world.Drive("slide").Plant.Powered, 3, "the drive lets go by itself");
        world.Ports[0].IsUnplugged = false;
        world.RunUntil(() => world.Snapshot("slide").Online, 5, "met again");
        for (var i = 0; i < 100; i++)
        {
            world.Run(0.02);
            Assert.False(world.Drive("slide").Plant.Powered);
        }

        Assert.Contains(world.Faults, fault => fault.Code == FaultCode.HeldLoadReleased);
        Assert.Equal((AxisState.Faulted, AxisDetail.None), (world.State("slide"), world.Snapshot("slide").Detail));
    }

    /// <summary>Within the drive's time-out, or as long after as the service waits where the drive's reaction is to hold.</summary>
    [Theory]
    [InlineData("cia402", "quickStopThenOff", 0.1)]
    [InlineData("bits", "quickStopThenOff", 0.1)]
    [InlineData("cia402", "quickStopThenHold", 2.5)]
    [InlineData("bits", "quickStopThenHold", 2.5)]
    public void Supervisor_KilledAndStartedAnew_ReadsFirstAndHoldsOn(string coding, string reaction, double after)
    {
        var (world, place) = Holding(seed: 3, coding, reaction: reaction);
        var frames = Restart(world, [true], after);
        world.RunUntil(() => world.Snapshot("slide").Online, 3, "met");
        Assert.Equal(ReadRegisters, frames[0].Function);
        for (var i = 0; i < 100; i++)
        {
            world.Run(0.02);
            Assert.True(world.Drive("slide").Plant.Powered);
            Assert.True(world.Drive("slide").Plant.BrakeClosed);
        }

        AssertHolds(world, place);
        Assert.Equal(FaultCode.LoadHeldByTorque, world.Snapshot("slide").Fault);
        Assert.Single(world.Faults, fault => fault.Code == FaultCode.LoadHeldByTorque);
        world.Do("slide", AxisCommandKind.LoadSupported);
        Assert.False(world.Drive("slide").Plant.Powered);
        world.Do("slide", AxisCommandKind.Reset);
    }

    /// <summary>What the memory is for: without it the first stop takes the torque, and the load sinks.</summary>
    [Fact]
    public void Supervisor_KilledAndStartedAnewWithoutAMemory_DropsTheLoad()
    {
        var (world, place) = Holding(seed: 4);
        Restart(world, null);
        world.Run(3);
        Assert.False(world.Drive("slide").Plant.Powered);
        Assert.True(Math.Abs(world.Drive("slide").Plant.Position - place) > 1);
    }

    /// <summary>A guard stands from the start until its reset: that is no opening. One that opens then takes the torque as ever.</summary>
    [Fact]
    public void Guard_ThatWaitsForItsReset_LeavesTheLoadHeldUntilItOpens()
    {
        var machine = ProofMachine.Build();
        machine = machine with { Interlocks = [machine.Interlocks[0] with { Kind = InterlockKind.Guard }] };
        var world = new SimulatedWorld(machine, 5);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        world.Drive("slide").Plant.BrakeWorn = true;
        world.Give("slide", AxisCommandKind.ProveBrake);
        world.RunUntil(() => world.Snapshot("slide").Detail == AxisDetail.HoldingLoad, 10, "holding");
        world.Run(1);
        var place = world.Drive("slide").Plant.Position;
        Restart(world, [true]);
        var coordinator = new Machine.Coordinator(world.Board, new Journal());
        world.Queue.After(TimeSpan.FromMilliseconds(5), Coordinate);
        world.Run(3);
        AssertHolds(world, place);

        world.Drive("slide").SetInput("input1", false);
        world.RunUntil(() => !world.Drive("slide").Plant.Powered, 2, "torque off");
        Assert.Equal(AxisState.Faulted, world.State("slide"));

        void Coordinate()
        {
            coordinator.Step(world.Queue.Now);
            world.Queue.After(TimeSpan.FromMilliseconds(5), Coordinate);
        }
    }

    /// <summary>The drive that is found has no torque: there is nothing to hold, and none is given to it.</summary>
    [Fact]
    public void Supervisor_StartedLongAfter_TellsThatTheTorqueIsGone()
    {
        var (world, _) = Holding(seed: 6);
        world.KillSupervisor();
        world.RunUntil(() => !world.Drive("slide").Plant.Powered, 3, "the drive lets go by itself");
        world.Run(5);
        world.StartSupervisor(world.Notes(), [true]);
        world.RunUntil(() => world.Snapshot("slide").Online, 5, "met");
        world.Run(1);
        Assert.Equal((AxisState.Faulted, AxisDetail.None), (world.State("slide"), world.Snapshot("slide").Detail));
        Assert.False(world.Drive("slide").Plant.Powered);
        Assert.Equal([FaultCode.LoadHeldByTorque, FaultCode.HeldLoadReleased], world.Faults.TakeLast(2).Select(fault => fault.Code));
        world.Do("slide", AxisCommandKind.Reset);
    }

    private static List<WireFrame> Restart(SimulatedWorld world, bool[]? held, double after = 0.1)
    {
        world.KillSupervisor();
        world.Run(after);
        var frames = new List<WireFrame>();
        world.FrameBegun = frames.Add;
        world.StartSupervisor(world.Notes(), held);
        return frames;
    }
}
