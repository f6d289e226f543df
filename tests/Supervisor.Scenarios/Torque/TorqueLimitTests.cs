using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Torque;

/// <summary>Each phase has its torque limit; a phase that relies on it begins once the drive holds it.</summary>
public sealed class TorqueLimitTests
{
    private const int Control = 64;
    private const int TorqueLimit = 74;

    [Fact]
    public void Stop_GoesOutAloneAndTheStoppingTorqueFollowsInTheAxisNextFrame()
    {
        var world = Enabled(readBack: false, 1);
        world.Give("slide", AxisCommandKind.Move, 180);
        world.RunUntil(() => Math.Abs(world.Snapshot("slide").Velocity) > 100, 3, "at speed");
        var writes = new List<WireFrame>();
        world.FrameBegun = frame =>
        {
            if (frame.Writes().Any())
            {
                writes.Add(frame);
            }
        };
        world.Board.Latch.RequestStop(0);
        world.RunUntil(() => world.State("slide") == AxisState.Ready, 3, "stands");
        Assert.Equal([Control], writes[0].Writes().Select(write => write.Address));
        Assert.Contains(writes[1].Writes(), write => write is { Address: TorqueLimit, Value: 1500 });
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Move_IsStartedOnlyOnceTheLimitOfMovingIsInTheDrive(bool readBack)
    {
        var world = Enabled(readBack, 2);
        var told = new List<string>();
        world.FrameBegun = frame =>
        {
            foreach (var (address, value) in frame.Writes())
            {
                if (address == TorqueLimit)
                {
                    told.Add($"limit {value}");
                }
                else if (address == Control && (value & 0x10) != 0)
                {
                    told.Add("start");
                }
            }

            if (frame.Function == 3 && frame.Bytes[3] == TorqueLimit)
            {
                told.Add("read");
            }
        };
        world.Do("slide", AxisCommandKind.Move, 100);
        Assert.Equal(readBack ? ["limit 1000", "read", "start"] : ["limit 1000", "start"], told.TakeWhile(what => what != "start").Append("start"));
    }

    [Fact]
    public void Limit_ThatTheDriveDoesNotHold_FaultsBeforeAnythingMoves()
    {
        var world = Enabled(readBack: true, 3);
        world.Drive("slide").LargestTorqueLimit = 80;
        var from = world.Drive("slide").CountedPosition;
        var move = world.Give("slide", AxisCommandKind.Move, 100);
        world.RunUntil(() => world.EndOf(move).Outcome != Outcome.None, 3, "ends");
        Assert.Equal(FaultCode.TorqueLimitUnverified, world.EndOf(move).Fault);
        Assert.False(FaultCatalogue.MayRecover(FaultCode.TorqueLimitUnverified));
        Assert.Equal(from, world.Drive("slide").CountedPosition, 20.0);
        world.RunUntil(() => !world.Drive("slide").Plant.Powered, 3, "off");
    }

    [Fact]
    public void Limit_ReadBack_LetsAWholeLifePass()
    {
        var world = Enabled(readBack: true, 4);
        world.Do("slide", AxisCommandKind.Move, 150);
        world.Do("slide", AxisCommandKind.Move, 10);
        world.Do("slide", AxisCommandKind.Disable);
        world.Do("slide", AxisCommandKind.Enable);
        Assert.Empty(world.Faults);
    }

    private static SimulatedWorld Enabled(bool readBack, ulong seed)
    {
        var axis = new OneAxis
        {
            Command = OneAxis.Commands + $$""", { "name": "torqueLimit", "register": 74, "type": "u16", "scale": 0.1{{(readBack ? ", \"readBack\": true" : "")}} }""",
            Axis = """ "torque": { "homing": 30, "moving": 100, "holding": 60, "stopping": 150 }, """ + OneAxis.Homing,
        };
        var world = new SimulatedWorld(axis.Build(), seed);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        return world;
    }
}
