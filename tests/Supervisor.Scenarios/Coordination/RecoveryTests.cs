using Supervisor.Configuration.Machines;
using Supervisor.Machine;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.Moves;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Coordination;

/// <summary>Recovery as the machine file says it, on the demo machine in simulated time.</summary>
public sealed class RecoveryTests
{
    private static readonly RecoveryDefinition Following = new([FaultClass.Following], 3, TimeSpan.FromMinutes(10), RecoveryAction.ResetAndEnable)
    {
        BackOff = new BackOffDefinition(TimeSpan.FromSeconds(2), 1, TimeSpan.FromSeconds(2)),
        SpeedPercent = 20,
    };

    [Fact]
    public void Following_WhatHeldItIsGone_ComesBackSlowlyAndIsFullSpeedPastThePlace()
    {
        var machine = Jammed(71, Following);
        machine.World.Drive("gantry").Plant.Jammed = false;
        machine.RunUntil(() => machine.State("gantry") == AxisState.Ready, 20, "back by itself");
        Assert.Equal(20, machine.Axis("gantry").SpeedPercent);

        // The limit is 600 mm/s. Back and forth before the place, then past it.
        machine.Done(machine.Move("gantry", 200));
        Assert.InRange(TopSpeed(machine, machine.Move("gantry", 250)), 60, 125);
        Assert.InRange(TopSpeed(machine, machine.Move("gantry", 790)), 60, 125);
        Assert.Equal(100, machine.Axis("gantry").SpeedPercent);
        Assert.InRange(TopSpeed(machine, machine.Move("gantry", 100)), 480, 625);
        AssertRecorded(machine, (RecoveryChange.Begun, 0), (RecoveryChange.Succeeded, 1));
    }

    /// <summary>Whoever commands after the restart may be a program that asks for full speed as ever.</summary>
    [Fact]
    public void Following_SupervisorKilledMeanwhile_IsStillSlowPastThePlace()
    {
        var machine = Jammed(76, Following);
        machine.World.Drive("gantry").Plant.Jammed = false;
        machine.RunUntil(() => machine.State("gantry") == AxisState.Ready, 20, "back by itself");
        
        // Within the drives' own time-out: one that stopped by it waits for a person's reset, who then has the axis in hand.
        machine.Restart(downSeconds: 0.2);
        machine.StartUp();
        Assert.True(machine.Axis("gantry").Referenced);
        machine.Done(new EnableCommand(machine.Axes("gantry")));
        Assert.Equal(20, machine.Axis("gantry").SpeedPercent);
        Assert.InRange(TopSpeed(machine, machine.Move("gantry", 790)), 60, 125);
        Assert.InRange(TopSpeed(machine, machine.Move("gantry", 100)), 480, 625);
    }

    [Fact]
    public void Following_StillHeldThere_IsAMatterForAPersonTheSecondTime()
    {
        var machine = Jammed(72, Following);
        machine.RunUntil(() => machine.State("gantry") == AxisState.Ready, 20, "back by itself");
        Assert.Equal(FaultClass.Following, FaultCatalogue.ClassOf(machine.Do(machine.Move("gantry", 800)).Fault));
        machine.Run(30);
        Assert.Equal(AxisState.Faulted, machine.State("gantry"));
        AssertRecorded(machine, (RecoveryChange.Begun, 0), (RecoveryChange.Succeeded, 1), (RecoveryChange.NotBegun, 1));

        machine.World.Drive("gantry").Plant.Jammed = false;
        machine.Done(new ResetCommand(machine.Axes("gantry")));
        Assert.Equal(100, machine.Axis("gantry").SpeedPercent);
    }

    [Fact]
    public void Following_NotNamedInTheFile_WaitsForAPerson()
    {
        var machine = Jammed(73, Following with { Faults = [FaultClass.Link, FaultClass.Restart, FaultClass.Supply, FaultClass.Temperature, FaultClass.TimeOut, FaultClass.Drive] });
        machine.World.Drive("gantry").Plant.Jammed = false;
        machine.Run(30);
        Assert.Equal(AxisState.Faulted, machine.State("gantry"));
        Assert.Empty(machine.Journal.Recoveries);
    }

    [Fact]
    public void Following_GuardOpenedMeanwhile_CancelsForGood()
    {
        var machine = Jammed(74, Following);
        machine.World.Drive("gantry").Plant.Jammed = false;
        machine.Run(1);
        machine.World.Drive("gantry").SetInput("input1", false);
        machine.Run(0.5);
        machine.World.Drive("gantry").SetInput("input1", true);
        machine.Run(0.5);
        machine.PressReset();
        machine.Run(30);
        Assert.Equal(AxisState.Faulted, machine.State("gantry"));
        AssertRecorded(machine, (RecoveryChange.Begun, 0), (RecoveryChange.Cancelled, 0));
    }

    /// <summary>The dibber's plug slips whenever it homes: attempts at the file's distances, each told with its number, then no more.</summary>
    [Fact]
    public void Attempts_CauseStays_AreMadeAtTheFilesDistancesAndThenEnd()
    {
        var link = new RecoveryDefinition([FaultClass.Link], 3, TimeSpan.FromMinutes(2), RecoveryAction.ResetAndHome)
        {
            BackOff = new BackOffDefinition(TimeSpan.FromSeconds(1), 3, TimeSpan.FromSeconds(5)),
        };
        var machine = Movers.Working(75, With("dibber", link));
        var pluggedAt = new List<TimeSpan>();
        for (var pulled = 0; pulled < 4; pulled++)
        {
            machine.World.Ports[1].IsUnplugged = true;
            machine.RunUntil(() => machine.State("dibber") == AxisState.Faulted, 5, "lost");
            machine.Run(0.5);
            machine.World.Ports[1].IsUnplugged = false;
            pluggedAt.Add(machine.World.Queue.Now);
            machine.RunUntil(() => machine.State("dibber") == AxisState.Homing || pulled == 3, 10, "homes by itself");
            if (pulled < 3)
            {
                var wait = machine.World.Queue.Now - pluggedAt[^1];
                Assert.InRange(wait.TotalSeconds, link.BackOff.Before(pulled).TotalSeconds, link.BackOff.Before(pulled).TotalSeconds + 1.5);
            }
        }

        machine.Run(60);
        Assert.Equal(AxisState.Faulted, machine.State("dibber"));
        AssertRecorded(
            machine,
            (RecoveryChange.Begun, 0), (RecoveryChange.AttemptFailed, 1), (RecoveryChange.AttemptFailed, 2), (RecoveryChange.AttemptFailed, 3), (RecoveryChange.GivenUp, 3));
        Assert.All(machine.Journal.RecoveryNotes, note => Assert.Equal((FaultCode.LinkLost, RecoveryAction.ResetAndHome, 3), (note.After, note.Action, note.Attempts)));
    }

    /// <summary>The gantry held at 300 mm or so on its way to 800 mm, and faulted by its following error.</summary>
    private static SupervisedMachine Jammed(ulong seed, RecoveryDefinition rule)
    {
        var machine = Movers.Working(seed, With("gantry", rule));
        var ticket = machine.Begin(machine.Move("gantry", 800));
        machine.RunUntil(() => machine.Axis("gantry").Position > 300, 10, "on the way");
        machine.World.Drive("gantry").Plant.Jammed = true;
        machine.RunUntil(() => ticket.Completion.IsCompleted, 3, "seen");
        Assert.Equal(FaultClass.Following, FaultCatalogue.ClassOf(SupervisedMachine.Ended(ticket).Fault));
        return machine;
    }

    private static MachineDefinition With(string axis, RecoveryDefinition rule)
    {
        var demo = SimulatedWorld.DemoMachine();
        return demo with { Axes = [.. demo.Axes.Select(each => each.Name == axis ? each with { Recovery = [rule] } : each)] };
    }

    private static double TopSpeed(SupervisedMachine machine, MoveCommand move)
    {
        var top = 0.0;
        var ticket = machine.Begin(move);
        machine.RunUntil(
            () =>
            {
                top = Math.Max(top, machine.Speed("gantry"));
                return ticket.Completion.IsCompleted;
            },
            60,
            "moved");
        Assert.Equal(Outcome.Done, SupervisedMachine.Ended(ticket).Outcome);
        return top;
    }

    private static void AssertRecorded(SupervisedMachine machine, params (RecoveryChange, int)[] steps) =>
        Assert.Equal(steps, machine.Journal.RecoveryNotes.Select(note => (note.Change, note.Attempt)));
}
