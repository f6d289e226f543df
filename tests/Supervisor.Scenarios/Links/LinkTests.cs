using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Ports;
using Supervisor.Scenarios.World;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.Links;

public sealed class LinkTests
{
    [Fact]
    public void Unplug_WhileMoving_FaultsTheAxisStopsItsGroupAndComesBackByReset()
    {
        var world = Ready(1);
        var move = world.Give("gantry", AxisCommandKind.Move, 800);
        world.Give("dibber", AxisCommandKind.Move, 150);
        world.Run(0.3);
        world.Ports[1].IsUnplugged = true;
        world.RunUntil(() => world.State("dibber") == AxisState.Faulted && world.State("gantry") == AxisState.Ready, 3, "dibber faulted, gantry stopped");
        Assert.Contains(world.Faults, fault => fault.Code == FaultCode.LinkLost && fault.Axis == world.Axis("dibber"));
        Assert.Equal(Outcome.Replaced, world.EndOf(move).Outcome);
        Assert.False(world.Snapshot("dibber").Online);
        world.Run(1);

        // The drive heard nobody and stopped by its own time-out.
        Assert.Equal(0, world.Drive("dibber").Plant.Velocity, 1.0);
        Assert.False(world.Drive("dibber").Plant.Powered);

        world.Ports[1].IsUnplugged = false;
        world.RunUntil(() => world.Snapshot("dibber").Online, 5, "dibber met again");
        Assert.Equal(AxisState.Faulted, world.State("dibber"));
        world.Run(0.5);
        world.Do("dibber", AxisCommandKind.Reset);
        Assert.Equal(AxisState.Disabled, world.State("dibber"));

        // Same serial number, homed flag, uptime without a gap: the zero is proven.
        Assert.True(world.Snapshot("dibber").Referenced);
        world.ResetInterlocks();
        world.Do("dibber", AxisCommandKind.Enable);
        world.Do("dibber", AxisCommandKind.Move, 10);
    }

    [Fact]
    public void Restart_OfADrive_LosesTheReferenceAndFaults()
    {
        var world = Ready(2);
        world.Drive("gantry").Restart();
        world.RunUntil(() => world.State("gantry") == AxisState.Faulted, 10, "gantry faulted");
        world.RunUntil(() => world.Snapshot("gantry") is { Online: true, Referenced: false }, 2, "gantry met again without its zero");
        world.Run(1);
        world.Do("gantry", AxisCommandKind.Reset);
        world.ResetInterlocks();
        var enable = world.Give("gantry", AxisCommandKind.Enable);
        world.Run(0.2);
        Assert.Equal(Refusal.NotReferenced, world.EndOf(enable).Refusal);
        world.Do("gantry", AxisCommandKind.Home);
    }

    [Fact]
    public void Restart_ShorterThanTheLinksPatience_IsFoundBeforeTheDriveIsCommandedAgain()
    {
        // Half a second of silence is borne; the drive starts in 0.3 s, its zero and its own time-out are gone.
        var machine = new OneAxis { Axis = OneAxis.Homing + ", \"communicationTimeoutMs\": 1000" }.Build();
        for (var phaseMs = 0; phaseMs < 40; phaseMs += 4)
        {
            var world = new SimulatedWorld(machine, 6);
            world.StartUp();
            world.Do("slide", AxisCommandKind.Home);
            world.Do("slide", AxisCommandKind.Move, 120);
            world.Do("slide", AxisCommandKind.Disable);
            world.Run(1 + (phaseMs / 1000.0));
            world.Drive("slide").Restart();
            for (var i = 0; i < 100; i++)
            {
                world.Give("slide", AxisCommandKind.Enable);
                world.Run(0.02);
                Assert.False(world.Drive("slide").Plant.Powered, $"enabled with a lost zero, phase {phaseMs} ms");
            }

            Assert.Equal(AxisState.Faulted, world.State("slide"));
            Assert.False(world.Snapshot("slide").Referenced);
        }
    }

    [Fact]
    public void Silence_WhereACycleHasNoTimeForEveryRepeat_IsALostLink()
    {
        // At every phase of the cycle: three drives, two repeats of 15 ms and a cycle of 40 ms leave time for one repeat or two.
        for (var phaseMs = 0; phaseMs < 40; phaseMs += 4)
        {
            var world = Ready(6);
            world.Do("gantry", AxisCommandKind.Disable);
            world.Run(phaseMs / 1000.0);
            world.Ports[0].Interfere = frame => frame.Unit == 2 ? Interference.LostReply : Interference.None;
            world.RunUntil(() => world.State("gantry") == AxisState.Faulted, 0.5, $"gantry faulted, from phase {phaseMs} ms");
            Assert.Contains(world.Faults, fault => fault.Code == FaultCode.LinkLost && fault.Axis == world.Axis("gantry"));
        }
    }

    [Fact]
    public void Restart_OfADisabledDrive_IsSeenByItsUptime()
    {
        var world = Ready(3);
        world.Do("gantry", AxisCommandKind.Disable);
        world.Run(4);
        world.Drive("gantry").Restart();
        world.RunUntil(() => !world.Snapshot("gantry").Referenced, 15, "reference lost");
    }

    [Fact]
    public void SecondSupervisor_MeetingAMovingDrive_StopsItWithItsFirstFrame()
    {
        var world = Ready(4);
        world.Give("gantry", AxisCommandKind.Move, 800);
        world.RunUntil(() => world.Snapshot("gantry").Velocity > 200, 3, "gantry at speed");

        // Another supervisor process takes the line over: a new board and stepper, which know nothing of the move.
        var board = new MachineBoard(world.Machine);
        var stepper = new PortStepper(board, 0);
        var port = new SimulatedPort(world.Queue, stepper, world.Plant.Lines[0], 0, 1);
        var firstFrames = new Dictionary<byte, WireFrame>();
        port.FrameBegun = (at, index, bytes) => firstFrames.TryAdd(bytes[0], new WireFrame(at, index, bytes.ToArray()));
        world.Ports[0].IsHeld = true;
        port.Start();
        world.RunUntil(() => !world.Drive("gantry").Plant.Powered, 3, "gantry off");
        Assert.Equal(0, world.Drive("gantry").Plant.Velocity, 1.0);
        Assert.Equal([(64, 2)], firstFrames[2].Writes().Select(write => (write.Address, (int)write.Value)));
        world.RunUntil(() => board.Axes[1].Read() is { Online: true, State: AxisState.Disabled }, 5, "gantry known and off");
        Assert.False(world.Drive("gantry").IsFaulted);
    }

    [Fact]
    public void NoisyLine_LosesRepliesAndBits_MovesArriveAndNothingFaults()
    {
        var world = Ready(5);
        world.Ports[0].Wire.Faults = new WireFaults(0.01, 0.01, 0.02, 0.01, 0.02, 0.01, TimeSpan.FromMilliseconds(30));
        for (var i = 0; i < 20; i++)
        {
            world.Do("gantry", AxisCommandKind.Move, i % 2 == 0 ? 300 : 20);
            Assert.Equal(i % 2 == 0 ? 300 : 20, world.Snapshot("gantry").Position, 0.11);
        }

        // The line is told to be bad, each drive once; nothing stops.
        Assert.All(world.Faults, fault => Assert.True(fault.Code is FaultCode.LineErrorsFrequent or FaultCode.DriveErrorsFrequent, $"{fault}"));
        Assert.Contains(world.Faults, fault => fault.Code == FaultCode.LineErrorsFrequent);
        Assert.True(world.Board.Ports[0].Port.Read().Errors > 50);
    }

    private static SimulatedWorld Ready(ulong seed)
    {
        var world = new SimulatedWorld(SimulatedWorld.DemoMachine(), seed);
        world.StartUp();
        world.Do("dibber", AxisCommandKind.Home);
        world.Do("gantry", AxisCommandKind.Home);
        world.Do("tray", AxisCommandKind.Enable);
        return world;
    }
}
