using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Moves;

/// <summary>Approach speed: slow over the stated part of a move as the plant runs it, and never past the target.</summary>
public sealed class ApproachTests
{
    [Theory]
    [InlineData(600)]
    [InlineData(100)]
    [InlineData(20)]
    public void Approach_AtBothEnds_IsSlowThereAndFastBetween(double speed)
    {
        var machine = Movers.Working(431);
        var ticket = machine.Begin(machine.Move("gantry", 700) with { Velocity = speed, Approach = new ApproachSpeed(20, 40, 30) });
        var (fastest, farthest) = (0.0, 0.0);
        while (!ticket.Completion.IsCompleted)
        {
            machine.Run(0.005);
            var position = machine.Axis("gantry").Position;
            var velocity = machine.Speed("gantry");
            Assert.False(position < 129 && velocity > 22, $"{velocity:0.#} mm/s at {position:0.#} mm, 30 mm from the start");
            Assert.False(position > 661 && velocity > 22, $"{velocity:0.#} mm/s at {position:0.#} mm, 40 mm before the target");
            fastest = Math.Max(fastest, velocity);
            farthest = Math.Max(farthest, position);
        }

        Assert.Equal((Outcome.Done, Refusal.None), ticket.End());
        Assert.InRange(fastest, speed * 0.98, (speed * 1.02) + 1);
        Assert.InRange(farthest, 699.8, 700.2);
        Assert.Empty(machine.Journal.Faults);
    }

    [Fact]
    public void Approach_LongerThanTheMove_IsSlowAllTheWayAndInTime()
    {
        var machine = Movers.Working(432);
        var ticket = machine.Begin(machine.Move("gantry", 200) with { Approach = new ApproachSpeed(5, 500, 0) });
        machine.Run(5);
        Assert.Equal(5, machine.Speed("gantry"), 0.5);

        // 100 mm at 5 mm/s: 20 s, which a time-out computed with the axis's speed would not last.
        machine.RunUntil(() => ticket.Completion.IsCompleted, 20, "arrived");
        Assert.Equal((Outcome.Done, Refusal.None), ticket.End());
    }

    [Fact]
    public void Approach_LineDeafWhenItShouldSlowDown_NeverPassesTheTarget()
    {
        var machine = Movers.Working(433);
        var ticket = machine.Begin(machine.Move("gantry", 700) with { Approach = new ApproachSpeed(20, 60, 0) });
        machine.RunUntil(() => machine.Axis("gantry").Position > 500, 5, "on the way");

        // Twelve requests are answered "busy": the change of speed comes late, the target stands.
        machine.World.Drive("gantry").BusyAnswers = 12;
        var farthest = 0.0;
        while (!ticket.Completion.IsCompleted)
        {
            machine.Run(0.005);
            farthest = Math.Max(farthest, machine.Axis("gantry").Position);
        }

        Assert.Equal((Outcome.Done, Refusal.None), ticket.End());
        Assert.InRange(farthest, 699.8, 700.2);
    }

    [Theory]
    [InlineData(0.0, 10.0, 0.0, Refusal.InvalidArgument)]
    [InlineData(20.0, 0.0, 0.0, Refusal.InvalidArgument)]
    [InlineData(20.0, -1.0, 5.0, Refusal.InvalidArgument)]
    [InlineData(20.0, double.NaN, 0.0, Refusal.InvalidArgument)]
    [InlineData(601.0, 10.0, 0.0, Refusal.VelocityLimit)]
    public void Approach_ThatIsNone_IsRefused(double velocity, double end, double start, Refusal refusal)
    {
        var machine = Movers.Working(434);
        var answer = machine.Do(machine.Move("gantry", 200) with { Approach = new ApproachSpeed(velocity, end, start) });
        Assert.Equal((Outcome.Refused, refusal), (answer.Outcome, answer.Refusal));
    }

    [Fact]
    public void Approach_DriveWhoseSpeedCannotBeTold_IsRefused()
    {
        var machine = new SupervisedMachine(new OneAxis
        {
            Axis = OneAxis.Endless,
            Command = """{ "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" }, { "name": "targetPosition", "register": 66, "type": "s32" }""",
            Limits = """ "velocity": 200, "acceleration": 1500, "deceleration": 1500 """,
        }.Build(), 435);
        machine.RunUntil(() => machine.Axis("slide") is { Online: true, State: AxisState.Disabled, Detail: AxisDetail.None }, 5, "met");
        machine.Grant = machine.Control.TryAcquire("operator", out _);
        machine.Done(new EnableCommand([0]));
        Assert.Equal(Refusal.NotSupportedByDrive, machine.Do(machine.Move("slide", 50) with { Approach = new ApproachSpeed(20, 10, 0) }).Refusal);
    }
}
