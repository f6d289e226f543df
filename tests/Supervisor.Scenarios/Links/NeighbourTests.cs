using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Links;

/// <summary>A drive that is silent, refuses or is busy troubles itself and nobody else on its line.</summary>
public sealed class NeighbourTests
{
    [Theory]
    [InlineData(15)]
    [InlineData(35)]
    public void SilentDrive_WhileItsNeighbourMoves_DoesNotStarveIt(int responseTimeoutMs)
    {
        var world = Enabled(2, $" \"cycleMs\": 40, \"responseTimeoutMs\": {responseTimeoutMs}, \"retries\": 2 ");
        world.Ports[0].Interfere = frame => frame.Unit == 2 ? Interference.LostRequest : Interference.None;
        for (var i = 0; i < 10; i++)
        {
            world.Do("slide", AxisCommandKind.MoveBy, i % 2 == 0 ? 300 : -300);
        }

        Assert.Equal(AxisState.Faulted, world.State("slide2"));
        Assert.DoesNotContain(world.Faults, fault => fault.Axis == 0);
    }

    [Fact]
    public void FifteenSilentDrives_WhileOneMoves_DoNotStarveIt()
    {
        var world = Enabled(16, """ "cycleMs": 150, "responseTimeoutMs": 40, "retries": 2 """, """ "communicationTimeoutMs": 900 """);
        world.Ports[0].Interfere = frame => frame.Unit != 9 ? Interference.LostRequest : Interference.None;
        for (var i = 0; i < 5; i++)
        {
            world.Do("slide9", AxisCommandKind.MoveBy, i % 2 == 0 ? 300 : -300);
        }

        Assert.Equal(15, world.Faults.Select(fault => fault.Axis).Distinct().Count());
        Assert.DoesNotContain(world.Faults, fault => fault.Axis == 8);
    }

    [Fact]
    public void OverrunCycle_WithSixteenAxes_StillReachesEveryOne()
    {
        // Every answer takes so long that a cycle holds a part of the axes only.
        var world = Enabled(16, """ "cycleMs": 150, "responseTimeoutMs": 40, "retries": 0 """, """ "communicationTimeoutMs": 900 """);
        var lost = 0;
        world.Ports[0].Interfere = frame => frame.Function is 3 && ++lost % 6 == 0 ? Interference.LostReply : Interference.None;
        var oldest = TimeSpan.Zero;
        for (var i = 0; i < 200; i++)
        {
            world.Run(0.05);
            oldest = world.Machine.Axes.Select(axis => world.Queue.Now - world.Snapshot(axis.Name).At).Append(oldest).Max();
        }

        // A drive that was silent for two cycles is asked its uptime before anything else: one transaction more before its feedback.
        Assert.True(oldest < TimeSpan.FromSeconds(1.3), $"the oldest feedback was {oldest.TotalSeconds:F2} s old");
    }

    [Theory]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(4)]
    public void WriteRefused_KeepsReadingAndFaults(byte exception)
    {
        var world = Enabled(2, """ "cycleMs": 40, "responseTimeoutMs": 15, "retries": 2 """);
        world.Ports[0].Interfere = frame => frame.Unit == 2 && frame.Function is 16 && frame.Writes().Any(write => write.Address == 66) ? Interference.Refused(exception) : Interference.None;
        var refused = world.Give("slide2", AxisCommandKind.MoveBy, 100);
        var oldest = TimeSpan.Zero;
        for (var i = 0; i < 100; i++)
        {
            world.Run(0.02);
            oldest = world.Queue.Now - world.Snapshot("slide2").At > oldest ? world.Queue.Now - world.Snapshot("slide2").At : oldest;
        }

        // Its inputs may be an interlock's: whatever is refused, feedback goes on.
        Assert.True(oldest < TimeSpan.FromMilliseconds(200), $"feedback was {oldest.TotalMilliseconds:F0} ms old");
        Assert.Equal(Outcome.Failed, world.EndOf(refused).Outcome);
        Assert.Equal(FaultCode.RequestRejected, world.EndOf(refused).Fault);
        Assert.False(world.Drive("slide2").Plant.Powered);
        Assert.DoesNotContain(world.Faults, fault => fault.Axis == 0);
    }

    [Fact]
    public void StopRefused_DoesNotTakeTheLineFromItsNeighbours()
    {
        var world = Enabled(2, """ "cycleMs": 40, "responseTimeoutMs": 15, "retries": 2 """);
        world.Give("slide2", AxisCommandKind.MoveBy, 5000);
        world.Give("slide", AxisCommandKind.MoveBy, 5000);
        world.RunUntil(() => world.Snapshot("slide").Velocity > 100 && world.Snapshot("slide2").Velocity > 100, 3, "both at speed");
        world.Ports[0].Interfere = frame => frame.Unit == 2 && frame.Writes().Any() ? Interference.Refused(4) : Interference.None;
        world.Board.Latch.RequestHalt(1);
        var oldest = TimeSpan.Zero;
        for (var i = 0; i < 50; i++)
        {
            world.Run(0.02);
            oldest = new[] { oldest, world.Queue.Now - world.Snapshot("slide").At, world.Queue.Now - world.Snapshot("slide2").At }.Max();
        }

        Assert.True(oldest < TimeSpan.FromMilliseconds(200), $"feedback was {oldest.TotalMilliseconds:F0} ms old");
        Assert.Contains(world.Faults, fault => fault is { Axis: 1, Code: FaultCode.RequestRejected });

        // As soon as the drive takes it again, the stop is there.
        world.Ports[0].Interfere = null;
        world.RunUntil(() => !world.Drive("slide2").Plant.Powered, 2, "off");
        Assert.Equal(AxisState.Moving, world.State("slide"));
    }

    [Fact]
    public void BusyForAWhile_IsAskedAgainAndNothingFaults()
    {
        var world = Enabled(1, """ "cycleMs": 40, "responseTimeoutMs": 15, "retries": 2 """);
        for (var i = 0; i < 20; i++)
        {
            world.Drive("slide").BusyAnswers = 4;
            world.Do("slide", AxisCommandKind.MoveBy, i % 2 == 0 ? 40 : -40);
        }

        Assert.Empty(world.Faults);
    }

    [Fact]
    public void ReplyOfAWriteLost_ThenTheValueGoesBack_TheDriveIsToldAgain()
    {
        // The speed stands in a block of its own, so that nothing else takes it along.
        var world = Enabled(
            1, """ "cycleMs": 40, "responseTimeoutMs": 15, "retries": 0 """,
            command: OneAxis.Commands.Replace("\"register\": 68", "\"register\": 80", StringComparison.Ordinal));
        world.Do("slide", AxisCommandKind.MoveBy, 10, velocity: 100);
        var lose = true;
        world.Ports[0].Interfere = frame =>
        {
            var speed = lose && frame.Writes().Any(write => write.Address == 81 && write.Value != 10_000);
            lose &= !speed;
            return speed ? Interference.LostReply : Interference.None;
        };

        // The faster speed reached the drive unheard; before anyone noticed, the slower one is wanted again.
        world.Give("slide", AxisCommandKind.MoveBy, 10, velocity: 200);
        world.RunUntil(() => !lose, 1, "the write's reply is lost");
        var slow = world.Give("slide", AxisCommandKind.MoveBy, 200, velocity: 100);
        var fastest = 0.0;
        world.RunUntil(
            () =>
            {
                fastest = Math.Max(fastest, Math.Abs(world.Snapshot("slide").Velocity));
                return world.EndOf(slow).Outcome != Outcome.None;
            },
            10, "slow move ends");
        Assert.InRange(fastest, 80, 115);
    }

    private static SimulatedWorld Enabled(int axes, string port, string axis = "", string command = OneAxis.Commands)
    {
        var world = new SimulatedWorld(new OneAxis
        {
            Axes = axes,
            Port = port,
            Axis = OneAxis.Endless + (axis.Length > 0 ? "," + axis : ""),
            CountsPerUnit = 100,
            Command = command,
            Limits = """ "velocity": 400, "acceleration": 4000, "deceleration": 4000 """,
            Window = 0.5,
        }.Build(), 17);
        world.StartUp();
        foreach (var entry in world.Machine.Axes)
        {
            world.Do(entry.Name, AxisCommandKind.Enable);
        }

        return world;
    }
}
