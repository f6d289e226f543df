using Supervisor.Motion.Stopping;
using Supervisor.Records.Stops;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Moves;

/// <summary>
/// The wire drops exactly the frame that goes out ahead of a halt, with the limit's ramp, to a drive that holds a gentle one: a drive that begins to
/// brake on that keeps to it.
/// </summary>
public sealed class LostRampTests
{
    private const double Velocity = 400;
    private const double Limit = 2400;

    // Two cycles of the line until the stop is heard, and the lag of the position loop.
    private const double Reaction = 0.08 + 0.03;

    /// <summary>profileDeceleration of the demo's drives.</summary>
    private const int RampRegister = 72;

    [Theory]
    [InlineData("request")]
    [InlineData("reply")]
    public void Halt_RampFrameLost_StillBrakesOnTheLimit(string what)
    {
        var run = new Run(lose: 1, reply: what == "reply");
        run.Halt();
        Assert.Equal(1, run.Lost);
        Assert.True(run.Way < StopCalculation.StoppingDistance(Velocity, Limit) + (Velocity * Reaction), $"{run.Way:0.0} mm");
        Assert.DoesNotContain(run.Machine.Journal.Faults, fault => fault.Axis == run.Axis);
        var stop = Assert.Single(run.Machine.Journal.Stops, stop => stop.Axis == run.Axis);
        Assert.True(stop.RestAfter < StopCalculation.StoppingTime(Velocity, Limit) + TimeSpan.FromSeconds(2 * Reaction), $"{stop.RestAfter}");
    }

    /// <summary>A wire that drops it again: the stop goes out all the same, and what takes too long is judged.</summary>
    [Fact]
    public void Halt_RampFrameLostTwice_IsJudged()
    {
        var run = new Run(lose: 2, reply: false);
        run.Halt();
        Assert.Equal(2, run.Lost);
        Assert.Contains(run.Machine.Journal.Faults, fault => fault.Axis == run.Axis && fault.Code == FaultCode.StopFailed);
    }

    private sealed class Run
    {
        public Run(int lose, bool reply)
        {
            Machine = Movers.Working(449);
            Axis = Machine.World.Axis("gantry");
            Machine.Give(Machine.Move("gantry", 810) with { Velocity = Velocity });
            Machine.RunUntil(() => Machine.Speed("gantry") > Velocity * 0.99, 2, "gantry at speed");
            Machine.Run(0.2);
            Machine.Give(Machine.Move("gantry", 800) with { Velocity = Velocity, Deceleration = 400 });
            var limit = Ramp;
            Machine.RunUntil(() => Ramp != limit, 2, "the gentle ramp");
            var unit = Machine.World.Machine.Axes[Axis].Address;
            Machine.World.Ports[Machine.World.Machine.Axes[Axis].Port].Interfere = frame =>
            {
                if (Lost == lose || frame.Unit != unit || frame.Writes().Select(write => write.Address).FirstOrDefault(-1) != RampRegister)
                {
                    return Interference.None;
                }

                Lost++;
                return reply ? Interference.LostReply : Interference.LostRequest;
            };
        }

        public SupervisedMachine Machine { get; }

        public int Axis { get; }

        public int Lost { get; private set; }

        /// <summary>Way from the halt to rest, mm.</summary>
        public double Way { get; private set; }

        private double Ramp => Machine.World.Drive("gantry").Register("profileDeceleration");

        public void Halt()
        {
            var from = Machine.Plant("gantry");
            Machine.World.Board.Latch.RequestHalt(Axis);
            Machine.RunUntil(() => Machine.Speed("gantry") < 1, 5, "gantry stands");
            Way = Machine.Plant("gantry") - from;
            Machine.Run(0.5);
        }
    }
}
