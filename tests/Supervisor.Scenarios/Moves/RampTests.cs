using Supervisor.Machine.Api;
using Supervisor.Motion.Stopping;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Moves;

/// <summary>
/// A move may end gently; a halt, a stop and an interlock never do. They brake with the axis's limit, by which stopping distances are
/// computed: v²/2a, and what the axis runs until its drive hears of it.
/// </summary>
public sealed class RampTests
{
    private const double Velocity = 400;

    // Two cycles of the line until the stop is heard, and the lag of the position loop.
    private const double Reaction = 0.08 + 0.03;

    [Fact]
    public void Deceleration_LowerThanTheLimit_IsDriven()
    {
        var machine = Movers.Working(441);
        var begun = machine.World.Queue.Now;
        machine.Done(machine.Move("gantry", 700) with { Velocity = 400, Deceleration = 200 });

        // Trapezoid from the formulas: 600 mm = 33.3 up in 0.167 s, 400 down in 2 s, 166.7 at 400 mm/s in 0.417 s: 2.58 s.
        Assert.InRange((machine.World.Queue.Now - begun).TotalSeconds, 2.58, 2.9);
    }

    [Theory]
    [InlineData(2401.0, Refusal.AccelerationLimit)]
    [InlineData(0.0, Refusal.InvalidArgument)]
    public void Deceleration_BeyondTheLimit_IsRefused(double deceleration, Refusal refusal)
    {
        var machine = Movers.Working(442);
        var answer = machine.Do(machine.Move("gantry", 400) with { Deceleration = deceleration });
        Assert.Equal((Outcome.Refused, refusal), (answer.Outcome, answer.Refusal));
        Assert.Contains("deceleration", answer.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("halt", 0.5)]
    [InlineData("stop", 0.5)]
    [InlineData("guard", 0.5)]
    [InlineData("halt", 0.2)]
    public void GentleMove_IsStopped_WithinTheStoppingDistanceOfTheLimit(string how, double after)
    {
        // At 100 mm/s² it would run on for 800 mm.
        var machine = Movers.Working(443);
        machine.Give(machine.Move("gantry", 820) with { Velocity = Velocity, Deceleration = 100 });
        machine.RunUntil(() => machine.Plant("gantry") - 100 is > 0 && machine.Speed("gantry") > 1, 2, "gantry begins");
        machine.Run(after);
        var from = machine.Plant("gantry");
        var speed = machine.Speed("gantry");
        Stop(machine, how);
        machine.RunUntil(() => machine.Speed("gantry") < 1, 3, "gantry stands");
        var allowed = StopCalculation.StoppingDistance(Velocity, 2400) + (Velocity * Reaction);
        Assert.InRange(machine.Plant("gantry") - from, speed > 300 ? 10 : 0, allowed);
        Assert.DoesNotContain(machine.Journal.Faults, fault => fault.Axis == machine.World.Axis("gantry"));
    }

    /// <summary>A run without end is given a target farther on now and then, on the way and at speed: at every instant of that a halt brakes as computed.</summary>
    [Fact]
    public void GentleRun_HaltedWhileItsTargetIsPassedOn_BrakesOnTheLimit()
    {
        // 32,767 steps of 0.02° are 655°: half of nine tenths of that is passed on every 6.6 s at 45°/s, with a ramp that would need 9 s to stop.
        var allowed = StopCalculation.StoppingDistance(45, 1500) + (45 * 0.2);
        var renewals = 0;
        for (var delayMs = 0; delayMs < 60; delayMs += 4)
        {
            var machine = new SupervisedMachine(EndlessTests.Narrow(), 445);
            machine.RunUntil(() => machine.Axis("slide") is { Online: true, State: AxisState.Disabled, Detail: AxisDetail.None }, 5, "met");
            machine.Grant = machine.Control.TryAcquire("operator", out _);
            machine.Done(new EnableCommand([0]));
            machine.Begin(machine.Endless("slide", 45) with { Deceleration = 5 });
            machine.RunUntil(() => machine.Speed("slide") > 44, 2, "at speed");
            var target = machine.World.Drive("slide").Register("targetPosition");
            machine.RunUntil(() => machine.World.Drive("slide").Register("targetPosition") != target, 20, "the next target");
            machine.Run(delayMs / 1000.0);
            var from = machine.Plant("slide");
            machine.Give(new HaltCommand([0]));
            machine.RunUntil(() => machine.Speed("slide") < 0.5, 15, "stands");
            Assert.True(machine.Plant("slide") - from < allowed, $"{machine.Plant("slide") - from:0.0}° after a halt {delayMs} ms behind a new target; {allowed:0.0}° are computed");
            renewals++;
        }

        Assert.Equal(15, renewals);
    }

    /// <summary>
    /// The gentle ramp comes to the drive at speed, with the slow end of an approach or with a move in place of another: at every instant from its
    /// sending on a halt brakes with the limit.
    /// </summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void GentleRamp_GivenAtSpeed_IsNotTheOneOfAHaltRightBehindIt(bool approaches)
    {
        var definition = SimulatedWorld.DemoMachine();
        var allowed = StopCalculation.StoppingDistance(Velocity, 2400) + (Velocity * Reaction);
        var isGentle = 0;
        for (var delayMs = 0; delayMs < 40; delayMs += 2)
        {
            var machine = Movers.Working(446, definition);
            machine.Give(approaches
                ? machine.Move("gantry", 800) with { Velocity = Velocity, Deceleration = 400, Approach = new ApproachSpeed(20, 100, 0) }
                : machine.Move("gantry", 810) with { Velocity = Velocity });
            machine.RunUntil(() => machine.Speed("gantry") > Velocity * 0.99, 2, "gantry at speed");
            machine.Run(0.2);
            if (!approaches)
            {
                machine.Give(machine.Move("gantry", 800) with { Velocity = Velocity, Deceleration = 400 });
            }

            var limit = machine.World.Drive("gantry").Register("profileDeceleration");
            machine.RunUntil(() => machine.World.Drive("gantry").Register("profileDeceleration") != limit, 2, "the gentle ramp");
            machine.Run(delayMs / 1000.0);
            isGentle += machine.World.Drive("gantry").Register("profileDeceleration") != limit ? 1 : 0;
            var from = machine.Plant("gantry");
            machine.World.Board.Latch.RequestHalt(machine.World.Axis("gantry"));
            machine.RunUntil(() => machine.Speed("gantry") < 1, 3, "gantry stands");
            Assert.True(machine.Plant("gantry") - from < allowed, $"{machine.Plant("gantry") - from:0.0} mm after a halt {delayMs} ms behind the ramp; {allowed:0.0} mm are computed");
        }

        Assert.True(isGentle > 2, "no halt found the gentle ramp");
    }

    /// <summary>
    /// At 400 mm/s and 500 mm of 820 a move to 600 mm with a ramp that needs 800 mm: the drive would run past its target and the limit,
    /// and come back. The ramp is as gentle as the room allows instead.
    /// </summary>
    [Theory]
    [InlineData(0)]
    [InlineData(150)]
    public void GentleMove_InPlaceOfAnotherAtSpeed_NeverPassesTheLimit(double endDistance)
    {
        var machine = Movers.Working(447);
        machine.Give(machine.Move("gantry", 800) with { Velocity = Velocity });
        machine.RunUntil(() => machine.Plant("gantry") > 500, 3, "gantry at 500 mm");
        var approach = endDistance > 0 ? new ApproachSpeed(20, endDistance, 0) : null;
        var ticket = machine.Give(machine.Move("gantry", 600) with { Velocity = Velocity, Deceleration = 100, Approach = approach });
        var farthest = 0.0;
        while (!ticket.Completion.IsCompleted)
        {
            machine.Run(0.005);
            farthest = Math.Max(farthest, machine.Plant("gantry"));
        }

        Assert.Equal((Outcome.Done, Refusal.None), ticket.End());
        Assert.InRange(farthest, 600, machine.World.Machine.Axes[machine.World.Axis("gantry")].Limits.UpperPosition!.Value);
    }

    private static void Stop(SupervisedMachine machine, string how)
    {
        switch (how)
        {
            case "halt":
                machine.Give(new HaltCommand(machine.Axes("gantry")));
                break;
            case "stop":
                machine.Give(new StopCommand(machine.Axes("gantry")));
                break;
            default:
                machine.World.Drive("gantry").SetInput("input1", false);
                break;
        }
    }
}
