using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Outputs;

/// <summary>The alive output toggles while all is well and stands still, at either level, while anything is not.</summary>
public sealed class AliveOutputTests
{
    private readonly OutputRig _rig = new(Seeder() with { Alive = new AliveDefinition(OutputRig.Gpio("alive"), TimeSpan.FromMilliseconds(400)) });

    private OutputRig.Place Wire => _rig.Places[0];

    private AliveStatus Shown => _rig.Rig.Control.Status().Alive!;

    [Fact]
    public void Step_AllWell_TogglesWithItsPeriod()
    {
        var edges = EdgesIn(4000);

        Assert.InRange(edges, 19, 21);
        Assert.True(Shown.Toggles);
        Assert.Empty(_rig.Rig.Journal.Faults);
    }

    [Fact]
    public void Step_PortHangs_StandsStillUntilItSteps() =>
        StandsStillWhile(() => _rig.Rig.Ports[1].Steps = false, () => _rig.Rig.Ports[1].Steps = true, "port line-b is not stepping");

    /// <summary>Unlike for the service's watchdog, an unplugged port is not well.</summary>
    [Fact]
    public void Step_PortUnplugged_StandsStillUntilItIsBack() =>
        StandsStillWhile(() => _rig.Rig.Ports[1].Open = false, () => _rig.Rig.Ports[1].Open = true, "port line-b is not open");

    [Fact]
    public void Step_ChipHangs_StandsStillUntilItSteps() =>
        StandsStillWhile(() => _rig.IsChipHung = true, () => _rig.IsChipHung = false, "chip soc");

    [Fact]
    public void Step_EdgeNotConfirmed_StandsStillUntilItIs() =>
        StandsStillWhile(() => Wire.IsStuck = true, () => Wire.IsStuck = false, "gpio:soc/alive is not confirmed");

    [Fact]
    public void Step_PlaceLost_GoesOnWhenItIsBack() =>
        StandsStillWhile(() => Wire.IsGone = true, () => Wire.IsGone = false, "gpio:soc/alive is not confirmed");

    [Fact]
    public void Step_CoordinatorHangs_StandsStill()
    {
        EdgesIn(500);
        var before = Wire.Given.Count;
        for (var i = 0; i < 100; i++)
        {
            Wire.Step(_rig.Rig.Now);
        }

        Assert.InRange(Wire.Given.Count - before, 0, 1);
    }

    [Fact]
    public void Set_ByHand_IsRefused() =>
        MachineRig.AssertRefused(_rig.Do(new SetOutputCommand(-1, "gpio:soc/alive", true)), Refusal.OutputNotByHand, "toggles itself");

    private void StandsStillWhile(Action breaks, Action mends, string problem)
    {
        EdgesIn(500);
        breaks();
        _rig.Run(250);
        Assert.Equal(0, EdgesIn(3000));
        Assert.False(Shown.Toggles);
        Assert.Contains(problem, Shown.Problem, StringComparison.Ordinal);
        Assert.Equal([FaultCode.AliveStopped], _rig.Rig.Journal.Faults.Select(fault => fault.Code));

        mends();

        Assert.InRange(EdgesIn(4000), 18, 21);
        Assert.True(Shown.Toggles);
    }

    private int EdgesIn(double ms)
    {
        var edges = 0;
        for (var passed = 0.0; passed < ms; passed += MachineRig.Period.TotalMilliseconds)
        {
            var before = Wire.On;
            _rig.Step();
            edges += Wire.On != before ? 1 : 0;
        }

        return edges;
    }
}
