using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stops;

/// <summary>A hanging load: whatever ends its motion, the frames on the wire never take its torque before the brake has had its time, and it does not sink.</summary>
public sealed class GravityTests
{
    private const double ToleranceCounts = 1500;
    private const int Controlword = 64;
    private static readonly TimeSpan BrakeClose = TimeSpan.FromMilliseconds(60);

    [Fact]
    public void Disable_AtRest_WaitsForTheBrake()
    {
        var hanging = new Hanging();
        hanging.World.Do("dibber", AxisCommandKind.Move, 90);
        hanging.Watch(() => hanging.World.Give("dibber", AxisCommandKind.Disable), stopsAt: 90_000);
        Assert.Equal(AxisState.Disabled, hanging.World.State("dibber"));
    }

    [Fact]
    public void Disable_InMotion_StopsThenWaitsForTheBrake()
    {
        var hanging = new Hanging();
        hanging.Down();
        hanging.Watch(() => hanging.World.Give("dibber", AxisCommandKind.Disable));
        Assert.Equal(AxisState.Disabled, hanging.World.State("dibber"));
    }

    [Fact]
    public void Category1_InMotion_StopsThenWaitsForTheBrake()
    {
        var hanging = new Hanging();
        hanging.Down();
        hanging.Watch(() => hanging.World.Trip("front guard"));
        Assert.Equal(AxisState.Disabled, hanging.World.State("dibber"));
    }

    [Fact]
    public void Category1_AtRest_WaitsForTheBrake()
    {
        var hanging = new Hanging();
        hanging.World.Do("dibber", AxisCommandKind.Move, 90);
        hanging.Watch(() => hanging.World.Trip("front guard"), stopsAt: 90_000);
        Assert.Equal(AxisState.Disabled, hanging.World.State("dibber"));
    }

    [Fact]
    public void FaultOfTheDrive_InMotion_IsNotMadeWorse()
    {
        var hanging = new Hanging();
        hanging.Down();
        hanging.Watch(() => hanging.World.Drive("dibber").Trip(0x4310));
        Assert.Equal(AxisState.Faulted, hanging.World.State("dibber"));
    }

    [Fact]
    public void LinkLostAndBack_InMotion_IsNotMadeWorse()
    {
        var hanging = new Hanging();
        hanging.Down();
        hanging.Watch(() =>
        {
            hanging.World.Ports[1].IsUnplugged = true;
            hanging.World.Queue.After(TimeSpan.FromSeconds(1), () => hanging.World.Ports[1].IsUnplugged = false);
        });
        Assert.Equal(AxisState.Faulted, hanging.World.State("dibber"));
        hanging.World.Do("dibber", AxisCommandKind.Reset);
    }

    [Fact]
    public void LinkLostForAMoment_InMotion_IsNotMadeWorse()
    {
        // Back before the drive's own time-out: the supervisor's quick stop is what stops it.
        var hanging = new Hanging();
        hanging.Down();
        hanging.Watch(() =>
        {
            hanging.World.Ports[1].IsUnplugged = true;
            hanging.World.Queue.After(TimeSpan.FromMilliseconds(60), () => hanging.World.Ports[1].IsUnplugged = false);
        });
        Assert.Equal(AxisState.Faulted, hanging.World.State("dibber"));
    }

    [Fact]
    public void StopOfAHoming_WaitsForTheBrake()
    {
        var hanging = new Hanging();
        hanging.World.Do("dibber", AxisCommandKind.Move, 120);
        hanging.World.Give("dibber", AxisCommandKind.Home);
        hanging.World.RunUntil(() => Math.Abs(hanging.World.Snapshot("dibber").Velocity) > 20, 3, "searching");
        hanging.Watch(() => hanging.World.Board.Latch.RequestStop(hanging.World.Axis("dibber")));
        Assert.Equal(AxisState.Disabled, hanging.World.State("dibber"));
    }

    [Fact]
    public void EnergisingBrokenOff_WaitsForTheBrake()
    {
        for (var delayMs = 10; delayMs < 300; delayMs += 15)
        {
            var hanging = new Hanging();
            hanging.World.Do("dibber", AxisCommandKind.Move, 90);
            hanging.World.Do("dibber", AxisCommandKind.Disable);
            hanging.World.Give("dibber", AxisCommandKind.Enable);
            hanging.World.Run(delayMs / 1000.0);
            hanging.Watch(() => hanging.World.Trip("front guard"), stopsAt: 90_000);
        }
    }

    private sealed class Hanging
    {
        private TimeSpan? _restSince;

        public Hanging()
        {
            World = new SimulatedWorld(SimulatedWorld.DemoMachine(), 31);
            World.StartUp();
            World.Do("dibber", AxisCommandKind.Home);
        }

        public SimulatedWorld World { get; }

        public void Down()
        {
            World.Do("dibber", AxisCommandKind.Move, 0);
            World.Give("dibber", AxisCommandKind.Move, 170);
            World.RunUntil(() => World.Snapshot("dibber").Velocity > 150, 3, "down at speed");
        }

        /// <summary>Lets it happen and looks at wire and plant for three seconds.</summary>
        public void Watch(Action happens, double? stopsAt = null)
        {
            var drive = World.Plant.Drives[World.Axis("dibber")];
            var tooEarly = "";
            World.FrameBegun = frame =>
            {
                foreach (var (address, value) in frame.Writes())
                {
                    // Enable operation taken away without a quick stop: torque goes off (CiA 402: 00, 06 and 07 of bits 0 to 3).
                    var takesTorque = frame.Unit == 3 && address == Controlword && (value & 0x0F) is 0x00 or 0x06 or 0x07;
                    if (takesTorque && World.Drive("dibber").Plant.Powered && !(World.Queue.Now - _restSince >= BrakeClose))
                    {
                        tooEarly = $"controlword {value:X4} at {frame.At}, at rest since {_restSince}";
                    }
                }
            };
            happens();
            double? stoodAt = null;
            for (var ms = 0; ms < 3000; ms++)
            {
                World.Run(0.001);
                drive.Advance(World.Queue.Now);
                var isStill = Math.Abs(drive.Plant.VelocityCounts) < 2000;
                _restSince = isStill ? _restSince ?? World.Queue.Now : null;
                stoodAt = isStill && ms > 500 ? stoodAt ?? drive.CountedPosition : stoodAt;
            }

            Assert.Equal("", tooEarly);
            Assert.False(drive.Plant.Powered);
            Assert.NotNull(stoodAt);
            Assert.Equal(stopsAt ?? stoodAt.Value, drive.CountedPosition, ToleranceCounts);
            Assert.DoesNotContain(World.Faults, fault => fault.Code is FaultCode.StandstillLost or FaultCode.StopFailed);
        }
    }
}
