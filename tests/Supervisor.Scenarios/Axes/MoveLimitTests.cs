using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Axes;

/// <summary>Limits of a move: those its command may ask for, and those the axis is measured against.</summary>
public sealed class MoveLimitTests
{
    [Fact]
    public void SoftLimit_DriveGoesBeyondIt_IsAFaultAndStops()
    {
        var world = Homed(61);
        world.Give("gantry", AxisCommandKind.Move, 700);
        world.RunUntil(() => world.Snapshot("gantry").Position > 400, 3, "gantry under way");

        // The drive takes another target than it was told: 840 mm, 20 mm beyond the limit, by a set-point handshake of its own.
        var drive = world.Drive("gantry");
        drive.Write(66, [(ushort)(840_000 >> 16), 840_000 & 0xFFFF]);
        foreach (var controlword in new ushort[] { 0x2F, 0x3F, 0x2F })
        {
            drive.Write(64, [controlword]);
            drive.Advance(world.Queue.Now);
        }

        world.RunUntil(() => world.State("gantry") == AxisState.Faulted, 5, "fault seen");
        Assert.Equal(FaultCode.SoftLimitPassed, world.Snapshot("gantry").Fault);
        world.RunUntil(() => !world.Drive("gantry").Plant.Powered, 3, "torque off");
    }

    [Fact]
    public void SoftLimit_MovesToTheVeryLimitAtFullSpeed_AreNoFault()
    {
        var world = Homed(62);
        world.Do("gantry", AxisCommandKind.Move, 820);
        world.Do("gantry", AxisCommandKind.Move, 0);
        Assert.Empty(world.Faults);
    }

    [Fact]
    public void Acceleration_LowerThanTheLimit_IsDriven()
    {
        var machine = new SupervisedMachine(SimulatedWorld.DemoMachine(), 63);
        machine.StartUp();
        machine.Done(new HomeCommand([]));
        machine.Done(machine.Move("gantry", 0));
        var begun = machine.World.Queue.Now;
        machine.Done(machine.Move("gantry", 400) with { Velocity = 200, Acceleration = 100 });

        // Trapezoid computed from the formulas: 2 s up over 200 mm, 0.083 s down over 8.3 mm at the limit of 2400 mm/s², the rest at 200 mm/s: 3.04 s.
        var took = (machine.World.Queue.Now - begun).TotalSeconds;
        Assert.InRange(took, 3.04, 3.45);
        Assert.Empty(machine.Journal.Faults);
    }

    [Theory]
    [InlineData(2401.0, Refusal.AccelerationLimit)]
    [InlineData(0.0, Refusal.InvalidArgument)]
    [InlineData(double.NaN, Refusal.InvalidArgument)]
    public void Acceleration_BeyondTheLimit_IsRefused(double acceleration, Refusal refusal)
    {
        var machine = new SupervisedMachine(SimulatedWorld.DemoMachine(), 64);
        machine.StartUp();
        machine.Done(new HomeCommand([]));
        var answer = machine.Do(machine.Move("gantry", 400) with { Acceleration = acceleration });
        Assert.Equal((Outcome.Refused, refusal), (answer.Outcome, answer.Refusal));
        Assert.Contains("acceleration", answer.Message, StringComparison.Ordinal);
    }

    private static SimulatedWorld Homed(ulong seed)
    {
        var world = new SimulatedWorld(SimulatedWorld.DemoMachine(), seed);
        world.StartUp();
        world.Do("gantry", AxisCommandKind.Home);
        world.Do("gantry", AxisCommandKind.Move, 0);
        return world;
    }
}
