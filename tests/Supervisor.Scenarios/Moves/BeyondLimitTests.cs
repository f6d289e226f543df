using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Moves;

/// <summary>An axis that is beyond a soft limit may move, step and jog back, and nothing leads it farther out.</summary>
public sealed class BeyondLimitTests
{
    [Theory]
    [InlineData(700)]
    [InlineData(830)]
    public void Move_Back_IsDone(double to)
    {
        var machine = Beyond(451, out var at);
        Assert.True(at > 833);
        machine.Done(machine.Move("gantry", to) with { Velocity = 20 });
        Assert.Equal(to, machine.Axis("gantry").Position, 0.2);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Step_Back_IsDoneThoughItsEndIsStillBeyond(bool fromActual)
    {
        var machine = Beyond(452, out var at);
        machine.Done(machine.By("gantry", -4, fromActual) with { Velocity = 20 });
        Assert.Equal(at - 4, machine.Axis("gantry").Position, 0.5);
        machine.Done(machine.By("gantry", -4, fromActual) with { Velocity = 20 });
        Assert.Empty(machine.Journal.Faults.Skip(1));
    }

    [Fact]
    public void Outwards_EveryWay_IsRefusedWithTheLimitNamed()
    {
        var machine = Beyond(453, out _);
        Refused(machine, machine.Move("gantry", 850));
        Refused(machine, machine.Move("gantry", 1e9));
        Refused(machine, machine.Move("gantry", -1));
        Refused(machine, machine.By("gantry", 1));
        Refused(machine, machine.By("gantry", 1, fromActual: true));
        var press = machine.Control.Jog(new JogCommand(machine.World.Axis("gantry"), true, null), machine.Grant);
        machine.Run(0.3);
        Assert.Equal((Outcome.Refused, Refusal.PositionLimit), press.Ticket.End());
        Assert.Contains("820", SupervisedMachine.Ended(press.Ticket).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Jog_Back_Moves()
    {
        var machine = Beyond(454, out var at);
        var press = machine.Control.Jog(new JogCommand(machine.World.Axis("gantry"), false, null), machine.Grant);
        for (var i = 0; i < 10; i++)
        {
            press.Refresh();
            machine.Run(0.08);
        }

        press.Release();
        machine.UntilReady("gantry");
        Assert.True(machine.Axis("gantry").Position < at - 10);
        Assert.Equal(Outcome.Done, press.Ticket.End().Item1);
    }

    [Fact]
    public void Contact_Outwards_IsRefused()
    {
        var machine = Movers.Working(455);
        var answer = machine.Do(new ContactCommand(machine.World.Axis("dibber"), 181, 20, 30));
        Assert.Equal((Outcome.Refused, Refusal.PositionLimit), (answer.Outcome, answer.Refusal));
        Assert.Contains("180", answer.Message, StringComparison.Ordinal);
    }

    private static void Refused(SupervisedMachine machine, MoveCommand move)
    {
        var answer = machine.Do(move);
        Assert.Equal((Outcome.Refused, Refusal.PositionLimit), (answer.Outcome, answer.Refusal));
        Assert.Contains(answer.Message.Contains("lower", StringComparison.Ordinal) ? "0 mm" : "820", answer.Message, StringComparison.Ordinal);
    }

    /// <summary>The gantry's drive went beyond its limit by itself and was stopped, reset and enabled there.</summary>
    private static SupervisedMachine Beyond(ulong seed, out double at)
    {
        var machine = Movers.Working(seed);
        machine.Begin(machine.Move("gantry", 800));
        machine.RunUntil(() => machine.Axis("gantry").Position > 500, 3, "on the way");
        var drive = machine.World.Drive("gantry");
        drive.Write(66, [(ushort)(838_000 >> 16), 838_000 & 0xFFFF]);
        foreach (var controlword in new ushort[] { 0x2F, 0x3F, 0x2F })
        {
            drive.Write(64, [controlword]);
            drive.Advance(machine.World.Queue.Now);
        }

        machine.RunUntil(() => machine.State("gantry") == AxisState.Faulted && machine.Axis("gantry").Detail == AxisDetail.None, 6, "stopped by its limit");
        machine.Done(new ResetCommand(machine.Axes("gantry")));
        machine.Done(new EnableCommand(machine.Axes("gantry")));
        at = machine.Axis("gantry").Position;
        Assert.True(at > 821, $"at {at}");
        return machine;
    }
}
