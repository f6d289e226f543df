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
