using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Recovery.Faulting;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Stops;

/// <summary>Which faults follow from a hardware stop, and to whom that is said.</summary>
public sealed class HardwareStopTests
{
    private const int Guard = 1;
    private const double OffDelayMs = 800;
    private const double MarginMs = 2000;

    [Theory]
    [InlineData(FaultCode.UnderVoltage, Guard)]
    [InlineData(FaultCode.TorqueLostUnexpectedly, Guard)]
    [InlineData(FaultCode.OverCurrent, -1)]
    [InlineData(FaultCode.OverTemperature, -1)]
    [InlineData(FaultCode.StopFailed, -1)]
    public void Fault_WithinTheOffDelayOfTheAxissGuard_IsAConsequenceOnlyWhenItTellsOfPower(FaultCode code, int expected)
    {
        var rig = GuardOpened();
        Fail(rig, Gantry, code);

        Assert.Equal(expected, Told(rig).ConsequenceOf);
    }

    [Fact]
    public void Fault_OfAnAxisThatTheGuardDoesNotStop_StandsForItself()
    {
        var rig = GuardOpened();
        Fail(rig, Drum, FaultCode.UnderVoltage);

        Assert.Equal(-1, Told(rig).ConsequenceOf);
    }

    [Theory]
    [InlineData(-100, Guard)]
    [InlineData(+100, -1)]
    public void Fault_AboutTheEndOfTheOffDelayAndItsMargin_CountsBeforeIt(double ms, int expected)
    {
        var rig = GuardOpened();
        rig.Run(OffDelayMs + MarginMs + ms);
        Fail(rig, Gantry, FaultCode.UnderVoltage);

        Assert.Equal(expected, Told(rig).ConsequenceOf);
    }

    [Fact]
    public void Fault_AfterTheGuardClosedButBeforeItsReset_IsAConsequence()
    {
        var rig = GuardOpened();
        rig.SetAndSee("gantry.input1", true);
        Fail(rig, Gantry, FaultCode.UnderVoltage);

        Assert.Equal(Guard, Told(rig).ConsequenceOf);
    }

    [Fact]
    public void Fault_WithAGuardThatIsOnlySilent_StandsForItself()
    {
        var rig = MachineRig.Ready(Delayed());
        rig.Axis(Gantry).Now.Online = false;
        rig.Run(600);
        Fail(rig, Dibber, FaultCode.UnderVoltage);

        Assert.Equal(-1, Told(rig).ConsequenceOf);
    }

    [Fact]
    public async Task Command_ThatFailsByIt_SaysWhatTookThePower()
    {
        var rig = MachineRig.Ready(Delayed());
        rig.Axis(Gantry).StepsPerCommand = int.MaxValue;
        rig.Axis(Gantry).ObeysStops = false;
        var move = rig.Submit(new MoveCommand([new MoveTarget(Gantry, 10, false)], null));
        rig.Step(3);
        rig.SetAndSee("gantry.input1", false);
        Fail(rig, Gantry, FaultCode.TorqueLostUnexpectedly);
        rig.Step(2);

        Assert.True(move.Completion.IsCompleted);
        var answer = await move.Completion;
        Assert.Equal(Outcome.Failed, answer.Outcome);
        Assert.Contains("as a consequence of the front guard", answer.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void SecondFault_ThatStandsForItself_IsNotShownAsAConsequence()
    {
        var rig = GuardOpened();
        Fail(rig, Gantry, FaultCode.UnderVoltage);
        Assert.Equal("front guard", rig.Control.Status().Axes[Gantry].FaultConsequenceOf);

        Fail(rig, Gantry, FaultCode.Encoder);
        Assert.Null(rig.Control.Status().Axes[Gantry].FaultConsequenceOf);
    }

    private static MachineRig GuardOpened()
    {
        var rig = MachineRig.Ready(Delayed());
        rig.SetAndSee("gantry.input1", false);
        return rig;
    }

    private static Configuration.Machines.MachineDefinition Delayed() =>
        Seeder(interlocks: all => [all[0], all[1] with { OffDelay = TimeSpan.FromMilliseconds(OffDelayMs) }, all[2]]);

    private static FaultEvent Told(MachineRig rig) => Assert.Single(rig.Journal.Faults);
}
