using Supervisor.Simulation.Drives.Motion;

namespace Supervisor.Simulation.Tests.Plant;

/// <summary>Closed forms of trapezoidal moves (computed from v²/2a + v²/2d): the generator works in 1 ms steps, so times agree to some steps.</summary>
public sealed class TrajectoryTests
{
    [Theory]
    [InlineData(10, 5, 10, 10, 2.5, 5)]
    [InlineData(10, 5, 10, 5, 2.75, 5)]
    [InlineData(1, 5, 10, 10, 0.632456, 3.162278)]
    [InlineData(1, 5, 10, 5, 0.774597, 2.581989)]
    public void MoveTo_RestToRest_TakesTheClosedFormsTime(double distance, double velocity, double acceleration, double deceleration, double time, double peak)
    {
        var trajectory = new Trajectory();
        trajectory.Reset(0);
        trajectory.MoveTo(distance, velocity, acceleration, deceleration);
        int steps = 0;
        double highest = 0;
        do
        {
            trajectory.Step(0.001);
            steps++;
            highest = Math.Max(highest, trajectory.Velocity);
            Assert.InRange(trajectory.Acceleration, -deceleration - 1e-6, acceleration + 1e-6);
            Assert.InRange(trajectory.Position, 0, distance + (deceleration * 1e-6)); // what one step of ramp is worth
        }
        while (!trajectory.IsDone && steps < 10_000);
        Assert.Equal(time, steps * 0.001, 0.005);
        Assert.Equal(peak, highest, 0.02);
        Assert.Equal(distance, trajectory.Position);
    }

    [Theory]
    [InlineData(5, 10, 1.25)]
    [InlineData(1, 10, 0.05)]
    public void Stop_AtVelocity_NeedsTheClosedFormsDistance(double velocity, double deceleration, double distance)
    {
        var trajectory = new Trajectory();
        trajectory.Take(0, velocity);
        trajectory.Stop(deceleration);
        for (int i = 0; i < 2000 && !trajectory.IsStanding; i++)
        {
            trajectory.Step(0.001);
        }

        Assert.True(trajectory.IsStanding);
        Assert.Equal(distance, trajectory.Position, velocity * 0.001);
    }
}
