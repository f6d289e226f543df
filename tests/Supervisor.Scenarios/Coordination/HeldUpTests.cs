using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Coordination;

/// <summary>A coordinator that is held up takes neither faults nor reports: nothing of these is lost without a word.</summary>
public sealed class HeldUpTests
{
    [Fact]
    public void Faults_FoundNoRoom_TheLatchedOneIsToldOnceThereIsAndTheOthersAreCounted()
    {
        var machine = StartedUp(61);
        var channel = machine.World.Board.Ports[0];
        machine.IsHeldUp = true;
        while (channel.Faults.TryWrite(new FaultEvent(machine.World.Queue.Now, 0, 0, FaultCode.HeatingWarning, 0, AxisState.Disabled, 0, 0)))
        {
        }

        machine.World.Drive("tray").Trip(0x4310);
        machine.RunUntil(() => machine.World.Snapshot("tray").Fault == FaultCode.OverTemperature, 1, "the fault is latched");
        machine.World.Drive("gantry").Trip(0x4310);
        machine.RunUntil(() => machine.World.Snapshot("gantry").Fault == FaultCode.OverTemperature, 1, "the fault is latched");

        // A graver one takes the place of the one that waits.
        machine.World.Drive("gantry").Exchange(77);
        machine.RunUntil(() => machine.World.Snapshot("gantry").Fault == FaultCode.WrongIdentity, 3, "the other drive is found");
        machine.Journal.Faults.Clear();
        machine.IsHeldUp = false;
        machine.Run(0.2);
        Assert.Equal(FaultCode.OverTemperature, Assert.Single(machine.Journal.Faults, fault => fault.Axis == machine.World.Axis("tray") && fault.Code != FaultCode.HeatingWarning).Code);
        Assert.Equal(FaultCode.WrongIdentity, Assert.Single(machine.Journal.Faults, fault => fault.Axis == machine.World.Axis("gantry")).Code);
        Assert.Contains(machine.Journal.LostFaults, lost => lost.Port == 0 && lost.Count >= 1);
    }

    [Fact]
    public void Commands_WhoseReportsMightNotFit_WaitAndAreAnsweredOnce()
    {
        var machine = StartedUp(62);
        var channel = machine.World.Board.Ports[0];
        machine.IsHeldUp = true;
        while (channel.Reports.Free > 2)
        {
            channel.Reports.TryWrite(new AxisReport(ulong.MaxValue, 0, Outcome.None, Refusal.None, FaultCode.None, 0, machine.World.Queue.Now));
        }

        var command = new AxisCommand(1_000_000, 0, AxisCommandKind.Enable, machine.World.Board.Latch.StopEpoch(0), 0, 0, 0, 0, 0);
        Assert.True(channel.Mailbox.TryWrite(command));
        machine.Run(1);
        Assert.Equal(AxisState.Disabled, machine.World.State("tray"));
        while (channel.Reports.TryRead(out _))
        {
        }

        machine.RunUntil(() => machine.World.State("tray") == AxisState.Ready, 3, "the command is taken");
        Assert.True(channel.Reports.TryRead(out var taken));
        Assert.Equal((1_000_000UL, Outcome.None), (taken.CommandId, taken.Outcome));
        Assert.True(channel.Reports.TryRead(out var done));
        Assert.Equal((1_000_000UL, Outcome.Done), (done.CommandId, done.Outcome));
        Assert.False(channel.Reports.TryRead(out _));
    }

    /// <summary>Directive 2006/42/EC, annex I, 1.2.4.3: resetting must not restart the machinery but only permit restarting. Value from memory.</summary>
    [Fact]
    public void Command_GivenBeforeTheButtonIsPressed_DoesNotBeginWithTheReset()
    {
        var machine = StartedUp(63);
        machine.World.Drive("tray").SetInput("input1", false);
        machine.World.Drive("tray").SetInput("input2", false);
        machine.Run(0.3);
        machine.World.Drive("tray").SetInput("input1", true);
        machine.World.Drive("tray").SetInput("input2", true);
        machine.Run(0.3);

        // The button's way through drive and line is known to the coordinator; what it does not get is time.
        machine.World.Drive("tray").SetInput("input3", true);
        machine.Run(0.3);
        machine.IsHeldUp = true;
        var enable = machine.Control.Submit(new EnableCommand(machine.Axes("tray")), machine.Grant);
        var home = machine.Control.Submit(new HomeCommand([]), machine.Grant);
        machine.Run(0.1);
        machine.World.Drive("tray").SetInput("input3", false);
        machine.Run(0.3);
        machine.IsHeldUp = false;
        machine.Run(1);
        Assert.True(machine.Control.Status().MotionPermitted);
        Assert.Equal((Outcome.Refused, Refusal.InterlockNeedsReset), (SupervisedMachine.Ended(enable).Outcome, SupervisedMachine.Ended(enable).Refusal));
        Assert.Equal((Outcome.Refused, Refusal.InterlockNeedsReset), (SupervisedMachine.Ended(home).Outcome, SupervisedMachine.Ended(home).Refusal));
        Assert.All(machine.World.Machine.Axes, axis => Assert.False(machine.World.Drive(axis.Name).Plant.Powered));
        machine.Done(new EnableCommand(machine.Axes("tray")));
    }

    private static SupervisedMachine StartedUp(ulong seed)
    {
        var machine = new SupervisedMachine(SimulatedWorld.DemoMachine(), seed);
        machine.StartUp();
        return machine;
    }
}
