using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Commands;

public sealed class HomeTests
{
    [Fact]
    public void Home_WithoutNames_BeginsAnOrderOnlyWhenTheLowerOneHasEnded()
    {
        var rig = MachineRig.Started();
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(new HomeCommand([]));
        rig.Run(500);
        Assert.Equal(AxisState.Homing, rig.Axis(Dibber).Now.State);
        Assert.Empty(rig.Axis(Gantry).Taken);
        Assert.True(ticket.Accepted.IsCompletedSuccessfully);

        rig.PortOf(Dibber).Finish(Dibber);
        rig.Run(50);
        Assert.Single(rig.Axis(Gantry).Taken);
        Assert.Equal(Outcome.Done, MachineRig.Answer(ticket).Outcome);
        Assert.Empty(rig.Axis(Tray).Taken);
        Assert.Empty(rig.Axis(Drum).Taken);
    }

    [Fact]
    public void Home_GuardOpenedAndResetWhileAnAxisWaits_NeverBeginsOnIt()
    {
        var machine = Seeder();
        machine = machine with { Interlocks = [.. machine.Interlocks.Select((entry, index) => index == Guard ? entry with { Axes = [Gantry] } : entry)] };
        var rig = MachineRig.Started(machine);
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(new HomeCommand([]));
        rig.Run(100);
        rig.SetAndSee("gantry.input1", false);
        rig.SetAndSee("gantry.input1", true);
        rig.PressReset(200);
        rig.Run(500);

        // A reset permits and starts nothing: the command that was given before it is over.
        Assert.Equal(Outcome.Replaced, MachineRig.Answer(ticket).Outcome);
        Assert.Contains("front guard", MachineRig.Answer(ticket).Message, StringComparison.Ordinal);
        Assert.Empty(rig.Axis(Gantry).Taken);
    }

    [Fact]
    public void Home_EqualOrders_BeginTogether()
    {
        var machine = Seeder();
        machine = machine with { Axes = [.. machine.Axes.Select(axis => axis.Homing is { } homing ? axis with { Homing = homing with { Order = 1 } } : axis)] };
        var rig = MachineRig.Started(machine);
        rig.Submit(new HomeCommand([]));
        rig.Step(2);
        Assert.Equal((AxisState.Homing, AxisState.Homing), (rig.Axis(Dibber).Now.State, rig.Axis(Gantry).Now.State));
    }

    [Fact]
    public void Home_NamedInAnyOrder_FollowsTheFile()
    {
        var rig = MachineRig.Started();
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        rig.Submit(new HomeCommand([Gantry, Dibber]));
        rig.Step(3);
        Assert.Empty(rig.Axis(Gantry).Taken);
        Assert.Single(rig.Axis(Dibber).Taken);
    }

    [Fact]
    public void Home_NamedAxisWithoutHoming_IsRefused()
    {
        var rig = MachineRig.Started();
        MachineRig.AssertRefused(rig.Do(new HomeCommand([Dibber, Drum])), Refusal.NoHoming, "drum", "leave it out");
        Assert.Empty(rig.Axis(Dibber).Taken);
    }

    [Fact]
    public void Home_MachineWithoutAnyHoming_IsRefused()
    {
        var machine = Seeder();
        var rig = MachineRig.Started(machine with { Axes = [.. machine.Axes.Select(axis => axis with { Homing = null })] });
        MachineRig.AssertRefused(rig.Do(new HomeCommand([])), Refusal.NoHoming, "nothing to home");
    }

    [Fact]
    public void Home_WhenALaterAxisCannot_BeginsNone()
    {
        var rig = MachineRig.Started();
        rig.Axis(Gantry).Now.Online = false;
        rig.Set("gantry.input1", true);
        rig.Step();
        MachineRig.AssertRefused(rig.Do(new HomeCommand([])), Refusal.AxisOffline, "gantry");
        Assert.Empty(rig.Axis(Dibber).Taken);
    }

    [Fact]
    public void Home_AxisFails_NeverBeginsTheNextOrder()
    {
        var rig = MachineRig.Started();
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(new HomeCommand([]));
        rig.Step(3);
        rig.PortOf(Dibber).Fault(Dibber, FaultCode.HomingTimeout);
        rig.Run(100);

        var answer = MachineRig.Answer(ticket);
        Assert.Equal((Outcome.Failed, FaultCode.HomingTimeout, (int)Dibber), (answer.Outcome, answer.Fault, answer.Axis));
        Assert.Empty(rig.Axis(Gantry).Taken);
    }

    [Fact]
    public void Home_StopOfAnAxisThatWaitsForItsOrder_EndsTheCommandBeforeThatAxisBegins()
    {
        var rig = MachineRig.Started();
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(new HomeCommand([]));
        rig.Step(3);
        rig.Submit(new StopCommand([Gantry]));
        rig.Step(3);
        rig.PortOf(Dibber).Finish(Dibber);
        rig.Run(50);

        Assert.Equal((Outcome.Replaced, Refusal.Stopped), MachineRig.Answer(ticket) is var answer ? (answer.Outcome, answer.Refusal) : default);
        Assert.Empty(rig.Axis(Gantry).Taken);
    }

    [Fact]
    public void Home_GuardOpensBetweenTwoOrders_EndsWithTheGuardNamed()
    {
        var rig = MachineRig.Started(Seeder(interlocks: all => [all[0], all[1] with { Axes = [Gantry] }, all[2]]));
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(new HomeCommand([]));
        rig.Step(3);
        rig.SetAndSee("gantry.input1", false);
        rig.PortOf(Dibber).Finish(Dibber);
        rig.Run(50);

        Assert.Contains("front guard", MachineRig.Answer(ticket).Message, StringComparison.Ordinal);
        Assert.Empty(rig.Axis(Gantry).Taken);
    }

    [Fact]
    public void Home_MailboxOfTheNextOrderFull_WaitsForRoom()
    {
        var rig = MachineRig.Started();
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(new HomeCommand([]));
        rig.Step(3);
        rig.Ports[0].ReadsMailbox = false;
        while (rig.Board.Ports[0].Mailbox.TryWrite(new Runtime.Messaging.AxisCommand { Axis = Tray, StopEpoch = -1 }))
        {
        }

        rig.PortOf(Dibber).Finish(Dibber);
        rig.Run(50);
        Assert.False(ticket.Completion.IsCompleted);

        rig.Ports[0].ReadsMailbox = true;
        rig.Run(50);
        Assert.Equal(Outcome.Done, MachineRig.Answer(ticket).Outcome);
    }
}
