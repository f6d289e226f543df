using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Moves;

/// <summary>Following error by a profile computed here, where the drive tells none: healthy moves pass, what holds the axis is found long before the move's time-out.</summary>
public sealed class FollowingTests
{
    [Fact]
    public void Following_AxisJams_IsAFaultBeforeTheMovesTimeOut()
    {
        var machine = Movers.Working(461);
        var ticket = machine.Begin(machine.Move("gantry", 800) with { Velocity = 50 });
        machine.RunUntil(() => machine.Axis("gantry").Position > 300, 10, "on the way");
        machine.World.Drive("gantry").Plant.Jammed = true;

        // 5 mm at 50 mm/s are 0.1 s, the tolerance of a cycle and 60 ms to be sure come on top; the drive's own window is four times wider.
        machine.RunUntil(() => ticket.Completion.IsCompleted, 0.4, "seen");
        Assert.Equal((Outcome.Failed, FaultCode.FollowingError), SupervisedMachine.Ended(ticket) is var end ? (end.Outcome, end.Fault) : default);
    }

    [Theory]
    [InlineData(100)]
    [InlineData(46)]
    public void Following_HealthyMovesOfEveryKind_AreNoFault(double torque)
    {
        // 46 % is a little less than the plant needs at the end of its ramp: the drive cuts its torque there. Without a contact torque nothing is in its way.
        var demo = SimulatedWorld.DemoMachine();
        var limited = demo with
        {
            Axes = [.. demo.Axes.Select(axis => axis.Name == "gantry" ? axis with { Torque = new(60, torque, 60, 0, 150) } : axis)],
        };
        var machine = Movers.Working(462, limited);
        foreach (var to in new double[] { 820, 0, 1, 300, 299.5, 810 })
        {
            machine.Done(machine.Move("gantry", to));
            machine.Done(machine.Move("dibber", to / 5));
        }

        machine.Done(machine.Move("gantry", 10) with { Velocity = 3, Approach = new ApproachSpeed(30, 5, 5) }, 600);
        machine.Begin(machine.Move("gantry", 700));
        machine.Run(0.6);
        machine.Begin(machine.Move("gantry", 0));
        machine.Run(0.3);
        machine.Done(machine.Move("gantry", 500) with { Deceleration = 300, Approach = new ApproachSpeed(20, 30, 30) });
        Assert.Equal(AxisState.Ready, machine.State("gantry"));
        Assert.Empty(machine.Journal.Faults);
    }
}
