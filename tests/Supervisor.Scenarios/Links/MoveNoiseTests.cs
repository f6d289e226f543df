using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.Links;

/// <summary>Relative moves on a bad wire: each is done once. The drive's own count is the truth.</summary>
public sealed class MoveNoiseTests
{
    private const double CountsPerUnit = 1000;
    private const double Window = 0.3;
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(10);

    // A request that is damaged is not heard; an answer that is damaged, cut, late or doubled is not the answer.
    private static readonly WireFaults Noise = new(0.04, 0.04, 0.04, 0.02, 0.02, 0.02, TimeSpan.FromMilliseconds(12));

    [Theory]
    [InlineData(101)]
    [InlineData(102)]
    public void MoveBy_OnANoisyWire_GoesItsWayOnce(int seed)
    {
        var world = new SimulatedWorld(new OneAxis { Port = """ "cycleMs": 40, "responseTimeoutMs": 15, "retries": 2 """ }.Build(), (ulong)seed);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        var random = new Random(seed);
        var done = 0;
        for (var i = 0; i < 60; i++)
        {
            var from = Place(world);
            var by = (from > 100 ? -1 : 1) * (5 + (35 * random.NextDouble()));
            world.Ports[0].Wire.Faults = Noise;
            var id = world.Give("slide", AxisCommandKind.MoveBy, by);
            var (least, most) = (from, from);
            for (var looks = 0; looks < 3000 && world.EndOf(id).Outcome == Outcome.None; looks++)
            {
                world.Queue.RunUntil(world.Queue.Now + Look);
                (least, most) = (Math.Min(least, Place(world)), Math.Max(most, Place(world)));
            }

            world.Ports[0].Wire.Faults = WireFaults.None;
            var outcome = world.EndOf(id).Outcome;
            Assert.True(outcome is Outcome.Done or Outcome.Failed, $"seed {seed}, move {i}: {outcome}");
            Assert.True(least > Math.Min(from, from + by) - Window && most < Math.Max(from, from + by) + Window, $"seed {seed}, move {i}: by {by} from {from}, seen from {least} to {most}");
            if (outcome == Outcome.Done)
            {
                done++;
                Assert.Equal(from + by, Place(world), Window);
                continue;
            }

            // The line was lost altogether: that is a fault, and the axis is homed anew.
            world.Run(3);
            world.Do("slide", AxisCommandKind.Reset);
            world.Do("slide", AxisCommandKind.Home);
        }

        Assert.True(done > 40 && world.Ports[0].Wire.Counts is { LostRequests: > 20, LostReplies: > 20, Corrupted: > 20 }, $"seed {seed}: {done} done, {world.Ports[0].Wire.Counts}");
    }

    private static double Place(SimulatedWorld world) => world.Drive("slide").CountedPosition / CountsPerUnit;
}
