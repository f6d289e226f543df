using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Motion.Stopping;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stops;

/// <summary>Every stop is measured, judged while it lasts, and compared with the one of the commissioning.</summary>
public sealed class MeasuredStopTests
{
    [Fact]
    public void Guard_WhileCrossing_IsMeasuredAsTheRampComputes()
    {
        var machine = Working(71, SimulatedWorld.DemoMachine());
        var velocity = Cross(machine);
        var counted = machine.World.Drive("gantry").CountedPosition;
        machine.World.Drive("gantry").SetInput("input1", false);
        machine.RunUntil(() => machine.State("gantry") == AxisState.Disabled, 5, "gantry off");
        machine.Run(0.1);
        var gone = Math.Abs(machine.World.Drive("gantry").CountedPosition - counted) / machine.Control.Machine.Axes[machine.World.Axis("gantry")].CountsPerUnit;

        var stop = machine.Journal.Stops.Single(stop => stop.Axis == machine.World.Axis("gantry") && Math.Abs(stop.Velocity) > 1);
        var limits = machine.Control.Machine.Axes[stop.Axis].Limits;
        Assert.Equal(1, stop.Category);
        Assert.NotEqual(0UL, stop.Causes);
        Assert.True(stop.IsComplete);

        // The way that the plant really went, less what it went before the input was read: at most two cycles of 40 ms and an exchange.
        Assert.InRange(stop.Distance, gone - (velocity * 0.1), gone + 0.5);

        // Within the ramp v²/2a, v/a (kinematics at constant deceleration) and a reaction; the drive's quick stop may be steeper.
        Assert.InRange(stop.Distance, 1, StopCalculation.StoppingDistance(velocity, limits.Deceleration) + (velocity * 0.2));
        Assert.InRange(stop.RestAfter.TotalSeconds, 0.05, (velocity / limits.Deceleration) + 0.4);
        Assert.True(stop.OffAfter >= stop.RestAfter);
    }

    [Fact]
    public void Stop_AskedFor_IsMeasuredInCategory2()
    {
        var machine = Working(72, SimulatedWorld.DemoMachine());
        Cross(machine);
        machine.Done(new StopCommand(machine.Axes("gantry")));
        machine.Run(0.2);

        var stop = Assert.Single(machine.Journal.Stops);
        Assert.Equal((2, 0UL), (stop.Category, stop.Causes));
        Assert.True(stop.IsComplete);
        Assert.Equal(TimeSpan.MaxValue, stop.OffAfter);
    }

    [Fact]
    public void Stop_OfAnAxisAtRest_IsNoMeasurement()
    {
        var machine = Working(73, SimulatedWorld.DemoMachine());
        machine.Done(new StopCommand(machine.Axes("gantry")));
        machine.Run(0.5);

        Assert.Empty(machine.Journal.Stops);
    }

    [Theory]
    [InlineData(1.0, false)]
    [InlineData(0.5, true)]
    public void Stops_LongerThanCommissioned_WarnOnce(double share, bool warns)
    {
        var demo = SimulatedWorld.DemoMachine();
        var machine = Working(74, demo);
        for (var i = 0; i < 2; i++)
        {
            StopOnce(machine);
        }

        // The machine's own first stops are its commissioning; a share of them stands for a machine that once stopped faster.
        var first = machine.Journal.Stops[^1];
        var gantry = machine.World.Axis("gantry");
        var commissioned = demo with
        {
            Axes = [.. demo.Axes.Select((axis, index) => index == gantry
                ? axis with { Stop = new StopDefinition(Math.Abs(first.Velocity), first.RestAfter * share, first.Distance * share, 20) }
                : axis)],
        };
        machine = Working(75, commissioned);
        for (var i = 0; i < 7; i++)
        {
            StopOnce(machine);
        }

        Assert.Equal(warns ? 1 : 0, machine.Journal.Faults.Count(fault => fault.Code == FaultCode.StopsLonger));
        Assert.Equal(AxisState.Ready, machine.State("gantry"));
    }

    [Fact]
    public void Halt_AfterOneThatAMoveReplaced_IsJudgedFromItsOwnBeginning()
    {
        var machine = Working(76, SimulatedWorld.DemoMachine());
        Cross(machine);
        machine.Control.Submit(new HaltCommand(machine.Axes("gantry")), null);
        machine.RunUntil(() => machine.Axis("gantry").Detail == AxisDetail.Stopping, 1, "gantry halts");
        machine.Control.Submit(machine.Move("gantry", 20), machine.Grant);
        machine.RunUntil(() => machine.Axis("gantry").Velocity < -100, 10, "gantry on its way back");
        var speed = machine.Axis("gantry").Velocity;
        machine.Done(new HaltCommand(machine.Axes("gantry")));
        machine.Run(0.2);

        var stop = Assert.Single(machine.Journal.Stops);
        Assert.InRange(stop.Velocity, speed * 1.5, speed * 0.5);
        Assert.InRange(stop.RestAfter.TotalSeconds, 0.01, 1);
        Assert.Empty(machine.Journal.Faults);
    }

    private static void StopOnce(SupervisedMachine machine)
    {
        machine.Done(machine.Move("gantry", 20));
        Cross(machine);
        machine.Done(new StopCommand(machine.Axes("gantry")));
        machine.Run(0.2);
        machine.Done(new ReleaseCommand([]));
    }

    /// <summary>Begins a move and answers the speed once it is reached.</summary>
    private static double Cross(SupervisedMachine machine)
    {
        machine.Control.Submit(machine.Move("gantry", 780), machine.Grant);
        machine.RunUntil(() => machine.Axis("gantry").Position > 300, 10, "gantry crosses");
        return Math.Abs(machine.Axis("gantry").Velocity);
    }

    private static SupervisedMachine Working(ulong seed, MachineDefinition definition)
    {
        var machine = new SupervisedMachine(definition, seed);
        machine.StartUp();
        machine.Done(new HomeCommand([]));
        machine.Done(new EnableCommand(machine.Axes("gantry")));
        machine.Journal.Stops.Clear();
        return machine;
    }
}
