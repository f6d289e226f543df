using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Machine;
using Supervisor.Machine.Api;
using Supervisor.Machine.Outputs;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.Outputs;

/// <summary>
/// Outputs of drives on simulated lines under the whole supervisor: a gripper on the left drive, a blower and the alive output on the right one, and a
/// contactor whose coil the right drive feeds and whose mirror contact it reads.
/// </summary>
public sealed class OutputTests
{
    private const int OutputsRegister = 75;
    private const int LeftPort = 0;
    private const int RightPort = 1;

    [Fact]
    public void Gripper_SupervisorKilledAndStartedAnew_HoldsWithoutABreak()
    {
        var plant = new SimulatedMachine(Machine(), 3);
        var queue = new EventQueue();
        var first = Process(queue, plant);
        Pass(queue, 2);
        Assert.Equal(Outcome.Done, Do(queue, first, Grip(true)).Outcome);
        Assert.True(IsOn(plant, queue, "output1"));

        first.Kill();
        Pass(queue, 5);
        var written = new List<bool>();
        var second = Process(queue, plant);
        second.Ports[LeftPort].FrameBegun = (_, _, bytes) =>
            written.AddRange(new WireFrame(queue.Now, LeftPort, bytes.ToArray()).Writes().Where(write => write.Address == OutputsRegister).Select(write => (write.Value & 1) != 0));
        for (var step = 0; step < 300; step++)
        {
            Pass(queue, 0.01);
            Assert.True(IsOn(plant, queue, "output1"), $"let go after {step * 10} ms");
        }

        Assert.NotEmpty(written);
        Assert.All(written, Assert.True);
        var shown = second.Coordinator.Control.Status().Outputs[0];
        Assert.Equal((true, true, ""), (shown.On, shown.Confirmed, shown.HeldBecause));
        Assert.Equal(Outcome.Done, Do(queue, second, Grip(false)).Outcome);
        Assert.False(IsOn(plant, queue, "output1"));
    }

    [Fact]
    public void Gripper_LineCutAndBack_HoldsAndIsNotToldAsChanged()
    {
        var machine = Started(4);
        machine.Done(Grip(true));

        machine.World.Ports[LeftPort].IsUnplugged = true;
        machine.Run(2);
        Assert.Null(machine.Control.Status().Outputs[0].On);
        machine.World.Ports[LeftPort].IsUnplugged = false;
        machine.Run(3);

        Assert.True(machine.World.Drive("left").Output("output1"));
        Assert.True(machine.Control.Status().Outputs[0] is { On: true, Confirmed: true });
        Assert.DoesNotContain(machine.Journal.Faults, fault => fault.Code == FaultCode.OutputChanged);
    }

    [Fact]
    public void Gripper_DriveRestarted_StaysOpenAndIsTold()
    {
        var machine = Started(5);
        machine.Done(Grip(true));

        machine.World.Drive("left").Restart();
        machine.Run(4);

        Assert.False(machine.World.Drive("left").Output("output1"));
        Assert.Single(machine.Journal.Faults, fault => fault is { Code: FaultCode.OutputChanged, Output: 0 });
    }

    [Fact]
    public void Blower_StopOfItsAxis_IsOffAndStaysSo()
    {
        var machine = Started(6);
        On(machine);
        machine.Done(new EnableCommand(machine.Axes("right")));
        machine.Done(new SetOutputCommand(-1, "blower", true));
        Assert.True(machine.World.Drive("right").Output("output1"));

        var stop = machine.Control.Submit(new StopCommand(machine.Axes("right")), null);
        machine.RunUntil(() => !machine.World.Drive("right").Output("output1"), 0.2, "off with the stop");
        machine.RunUntil(() => stop.Completion.IsCompleted, 2, "stopped");
        Assert.Equal(Refusal.OutputHeld, machine.Do(new SetOutputCommand(-1, "blower", true)).Refusal);
        machine.Done(new ReleaseCommand(machine.Axes("right")));
        machine.Run(0.5);
        Assert.False(machine.World.Drive("right").Output("output1"));

        machine.Done(new SetOutputCommand(-1, "blower", true));
        machine.World.Drive("right").Trip(0x4310);
        machine.RunUntil(() => machine.State("right") == AxisState.Faulted, 1, "faulted");
        machine.RunUntil(() => !machine.World.Drive("right").Output("output1"), 0.2, "off with the fault");
    }

    [Fact]
    public void Power_ContactorThatFollows_IsOnBeforeAxesAndOffAtTheEnd()
    {
        var machine = Started(7);
        Assert.Equal(Refusal.PowerOff, machine.Do(new EnableCommand(machine.Axes("left"))).Refusal);
        On(machine);
        machine.Done(new EnableCommand(machine.Axes("left")));

        machine.Coordinator.BeginShutDown(machine.World.Queue.Now);
        machine.RunUntil(() => machine.Coordinator.ShutDown.IsStopped, 5, "shut down");

        Assert.False(machine.World.Drive("right").Output("output2"));
    }

    /// <summary>The left drive refuses whatever is written to it, and goes on: the power goes, whatever the coordinator does.</summary>
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Power_StopFails_DropsAtOnceAndLatches(bool isCoordinatorHeldUp)
    {
        var machine = Started(8);
        On(machine);
        machine.Done(new EnableCommand(machine.Axes("left", "right")));
        machine.Control.Submit(new MoveCommand([new MoveTarget(machine.World.Axis("left"), 300, false) { WithoutEnd = true }], null), machine.Grant);
        machine.RunUntil(() => machine.World.Snapshot("left").Velocity > 250, 3, "running");
        machine.World.Ports[LeftPort].Interfere = frame => frame.Function == 3 ? Interference.None : Interference.Refused(4);

        machine.Control.Submit(new StopCommand(machine.Axes("left")), null);
        machine.IsHeldUp = isCoordinatorHeldUp;
        machine.RunUntil(() => machine.World.Snapshot("left").Fault == FaultCode.StopFailed, 5, $"the stop has failed: {machine.World.Snapshot("left").Fault}");
        machine.RunUntil(() => !machine.World.Drive("right").Output("output2"), 0.2, "the power has gone");

        machine.IsHeldUp = false;
        machine.Run(1);
        Assert.Equal((PowerState.Faulted, FaultCode.PowerDropped), (machine.Control.Status().PowerEnable!.State, machine.Control.Status().PowerEnable!.Fault));
        Assert.Single(machine.Journal.Faults, fault => fault.Code == FaultCode.PowerDropped);
        Assert.Equal(Refusal.PowerFaulted, machine.Do(new SwitchPowerCommand(true)).Refusal);
    }

    [Fact]
    public void Alive_PortWedged_StandsStillUntilItGoesOn()
    {
        var machine = Started(9);
        Assert.InRange(Edges(machine, 4), 14, 17);

        machine.World.Ports[LeftPort].PausedUntil = machine.World.Queue.Now + TimeSpan.FromSeconds(3);
        machine.Run(0.3);
        Assert.Equal(0, Edges(machine, 2.5));
        machine.Run(1);
        Assert.InRange(Edges(machine, 4), 14, 17);

        machine.IsHeldUp = true;
        machine.Run(0.1);
        Assert.Equal(0, Edges(machine, 2));
    }

    private static SetOutputCommand Grip(bool on) => new(-1, "gripper", on);

    private static void On(SupervisedMachine machine) => machine.Done(new SwitchPowerCommand(true));

    private static bool IsOn(SimulatedMachine plant, EventQueue queue, string output)
    {
        plant.Drives[0].Advance(queue.Now);
        return plant.Drives[0].Output(output);
    }

    private static int Edges(SupervisedMachine machine, double seconds)
    {
        var edges = 0;
        var before = machine.World.Drive("right").Output("output3");
        for (var passed = 0.0; passed < seconds; passed += 0.01)
        {
            machine.Run(0.01);
            var now = machine.World.Drive("right").Output("output3");
            edges += now != before ? 1 : 0;
            before = now;
        }

        return edges;
    }

    private static SupervisorProcess Process(EventQueue queue, SimulatedMachine plant)
    {
        var process = new SupervisorProcess(queue, Machine(), plant, new Journal(), 3);
        process.Start();
        return process;
    }

    private static void Pass(EventQueue queue, double seconds) => queue.RunUntil(queue.Now + TimeSpan.FromSeconds(seconds));

    private static CommandAnswer Do(EventQueue queue, SupervisorProcess process, MachineCommand command)
    {
        using var grant = process.Coordinator.Control.TryAcquire("operator", out _);
        var ticket = process.Coordinator.Control.Submit(command, grant);
        Assert.True(queue.RunUntil(() => ticket.Completion.IsCompleted, TimeSpan.FromSeconds(5)), $"{command} ends");
        return SupervisedMachine.Ended(ticket);
    }

    /// <summary>The contactor follows its coil after 30 ms; its mirror contact is the right drive's second input.</summary>
    private static SupervisedMachine Started(ulong seed)
    {
        var machine = new SupervisedMachine(Machine(), seed);
        var queue = machine.World.Queue;
        var (isClosed, coil, since) = (false, false, queue.Now);
        void Contactor()
        {
            var now = machine.World.Drive("right").Output("output2");
            if (now != coil)
            {
                (coil, since) = (now, queue.Now);
            }

            isClosed = queue.Now - since >= TimeSpan.FromMilliseconds(30) ? coil : isClosed;
            machine.World.Drive("right").SetInput("input2", !isClosed);
            queue.After(TimeSpan.FromMilliseconds(5), Contactor);
        }

        Contactor();
        machine.RunUntil(() => machine.Control.Status().Axes.All(axis => axis.Online), 10, "every axis met");
        machine.Run(0.5);
        machine.Grant = machine.Control.TryAcquire("operator", out _);
        return machine;
    }

    private static MachineDefinition Machine()
    {
        var machine = Machines.TwoPorts();
        var drive = machine.Axes[0].Drive;
        drive = drive with
        {
            Command = [.. drive.Command.Select(field => field.Name == "digitalOutputs" ? field with { ReadBack = true } : field)],
            Outputs = new Dictionary<string, BitReference>
            {
                ["output1"] = new("digitalOutputs", 0, false), ["output2"] = new("digitalOutputs", 1, false), ["output3"] = new("digitalOutputs", 2, false),
            },
            CommunicationTimeout = drive.CommunicationTimeout! with { Outputs = OutputsAtTimeout.Hold },
        };
        return machine with
        {
            Axes = [.. machine.Axes.Select(axis => axis with { Drive = drive })],
            Outputs =
            [
                new OutputDefinition("gripper", Place(0, 0), [0], OutputState.Hold, OutputState.Hold, OutputState.Hold, OutputState.Hold, OutputState.Hold),
                new OutputDefinition("blower", Place(1, 0), [1], OutputState.Off, OutputState.Hold, OutputState.Off, OutputState.Off, OutputState.Hold),
            ],
            PowerEnable = new PowerEnableDefinition(
                Place(1, 1), new InputReference("right.input2", InputSource.Drive, 1, drive.Inputs["input2"], null), TimeSpan.FromMilliseconds(250), TimeSpan.FromMilliseconds(250), [0, 1]),
            Alive = new AliveDefinition(Place(1, 2), TimeSpan.FromMilliseconds(500)),
        };

        OutputReference Place(int axis, int output) => new($"{machine.Axes[axis].Name}.output{output + 1}", OutputSource.Drive, axis, output);
    }
}
