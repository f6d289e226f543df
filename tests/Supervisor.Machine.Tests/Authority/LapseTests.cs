using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Authority;

/// <summary>A holder that is lost: what the machine file lets become of its motion.</summary>
public sealed class LapseTests
{
    private static readonly TimeSpan Within = TimeSpan.FromSeconds(2);

    [Fact]
    public void LapseOverdue_HolderThatRefreshes_KeepsAuthority()
    {
        var rig = Rig(LapseAction.Stop);
        for (var i = 0; i < 10; i++)
        {
            rig.Grant!.Refresh(rig.Now);
            rig.Run(1_500);
            rig.Control.LapseOverdue(rig.Now);
        }

        Assert.Equal("operator", rig.Control.Status().AuthorityHolder);
    }

    [Theory]
    [InlineData(LapseAction.Stop, MachineMode.Production, true)]
    [InlineData(LapseAction.Stop, MachineMode.Manual, true)]
    [InlineData(LapseAction.Finish, MachineMode.Production, false)]
    [InlineData(LapseAction.Finish, MachineMode.Manual, true)]
    [InlineData(LapseAction.Finish, MachineMode.Maintenance, true)]
    public void LapseOverdue_HolderThatIsSilent_StopsOrFinishesAsTheFileSays(LapseAction action, MachineMode mode, bool stops)
    {
        var rig = Rig(action);
        rig.Do(new ChooseModeCommand(mode));
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        rig.Grant!.Refresh(rig.Now);
        var move = rig.Submit(new MoveCommand([new MoveTarget(Drum, 10, false)], null));
        rig.Run(2_100);
        rig.Control.LapseOverdue(rig.Now);
        rig.Step(3);

        Assert.Null(rig.Control.Status().AuthorityHolder);
        Assert.True(rig.Grant.Lapsed.IsCompleted);
        Assert.Equal(stops, move.Completion.IsCompleted);
        Assert.Equal(stops ? AxisState.Ready : AxisState.Moving, rig.Axis(Drum).Now.State);
        if (stops)
        {
            Assert.Equal((Outcome.Replaced, Refusal.AuthorityLost), (MachineRig.Answer(move).Outcome, MachineRig.Answer(move).Refusal));
        }
        else
        {
            rig.PortOf(Drum).Finish(Drum);
            rig.Step();
            Assert.Equal(Outcome.Done, MachineRig.Answer(move).Outcome);
        }

        // A stop in category 2: torque stays.
        Assert.True(rig.Axis(Drum).Now.TorqueOn);
    }

    [Fact]
    public void Lose_WhileJogging_StopsWhateverTheFileSays()
    {
        var rig = Rig(LapseAction.Finish);
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        var press = rig.Control.Jog(new JogCommand(Drum, true, null), rig.Grant);
        rig.Step(3);
        rig.Grant!.Lose();
        rig.Step(3);

        Assert.Equal(Refusal.AuthorityLost, MachineRig.Answer(press.Ticket).Refusal);
    }

    /// <summary>It would never finish: with nobody in charge it must not go on, whichever way its holder went.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void HolderGone_WhileAnAxisRunsWithoutEnd_HaltsIt(bool handsOn)
    {
        var rig = Rig(LapseAction.Finish);
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        rig.Axis(Gantry).StepsPerCommand = int.MaxValue;
        var run = rig.Submit(new MoveCommand([new MoveTarget(Drum, 90, false) { WithoutEnd = true }], null));
        var move = rig.Submit(new MoveCommand([new MoveTarget(Gantry, 100, false)], null));
        rig.Step(3);
        Assert.Equal(AxisState.Moving, rig.Axis(Drum).Now.State);

        if (handsOn)
        {
            rig.Grant!.Release(stopAxes: false);
        }
        else
        {
            rig.Grant!.Lose();
        }

        rig.Step(3);
        Assert.Equal((Outcome.Replaced, Refusal.AuthorityLost), (MachineRig.Answer(run).Outcome, MachineRig.Answer(run).Refusal));
        Assert.Equal(AxisState.Ready, rig.Axis(Drum).Now.State);

        // What comes to an end by itself does.
        Assert.False(move.Completion.IsCompleted);
        Assert.Equal(AxisState.Moving, rig.Axis(Gantry).Now.State);
    }

    [Fact]
    public void LapseOverdue_HolderThatNeverRefreshed_IsNotAsked()
    {
        var rig = Rig(LapseAction.Stop);
        rig.Run(60_000);
        rig.Control.LapseOverdue(rig.Now);

        // A grant inside the process, such as a routine's, has no line that could be cut.
        Assert.Equal("operator", rig.Control.Status().AuthorityHolder);
    }

    private static MachineRig Rig(LapseAction action) => MachineRig.Ready(Seeder() with { Authority = new AuthorityDefinition(Within, action) });
}
