using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Commands;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Commands;

/// <summary>Homing that needs a person's word or something out of the way: the sentence says what.</summary>
public sealed class HomingGateTests
{
    [Theory]
    [InlineData(35)]
    [InlineData(37)]
    public void Home_MethodThatOnlySetsZero_IsRefusedUntilConfirmed(int method)
    {
        var rig = MachineRig.Started(With(Dibber, homing => homing with { Method = method }));
        MachineRig.AssertRefused(rig.Do(new HomeCommand([Dibber])), Refusal.NeedsConfirmation, "dibber", $"method {method}", "--confirm");
        Assert.Empty(rig.Axis(Dibber).Taken);

        Assert.Equal(Outcome.Done, rig.Do(new HomeCommand([Dibber], Confirmed: true)).Outcome);
    }

    [Fact]
    public void HomeAll_WithOneThatNeedsAWord_MovesNothingBeforeItIsGiven()
    {
        var rig = MachineRig.Started(With(Gantry, homing => homing with { Method = 37 }));
        MachineRig.AssertRefused(rig.Do(new HomeCommand([])), Refusal.NeedsConfirmation, "gantry");
        Assert.Empty(rig.Axis(Dibber).Taken);
    }

    /// <summary>The dibber is homed first and stands clear by the time the gantry's turn comes.</summary>
    [Fact]
    public void HomeAll_ClearOfAnAxisThatIsHomedBefore_IsAskedWhenItsTurnComes()
    {
        var rig = MachineRig.Started(With(Gantry, homing => homing with { ClearOf = [new ClearCondition(Dibber, 0, 5, null)] }));
        Assert.Equal(Outcome.Done, rig.Do(new HomeCommand([])).Outcome);
    }

    [Fact]
    public void Home_ClearOfAnUnreferencedAxis_SaysWhatToDo()
    {
        var rig = MachineRig.Started(With(Gantry, homing => homing with { ClearOf = [new ClearCondition(Dibber, 0, 5, null)] }));
        MachineRig.AssertRefused(rig.Do(new HomeCommand([Gantry])), Refusal.NeedsConfirmation, "gantry must be clear of dibber", "home dibber first");
        Assert.Equal(Outcome.Done, rig.Do(new HomeCommand([Gantry], Confirmed: true)).Outcome);
    }

    private static MachineDefinition With(int axis, Func<HomingDefinition, HomingDefinition> change)
    {
        var machine = Seeder();
        return machine with { Axes = [.. machine.Axes.Select((each, index) => index == axis ? each with { Homing = change(each.Homing!) } : each)] };
    }
}
