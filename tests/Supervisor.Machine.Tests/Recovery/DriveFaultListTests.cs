using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using static Supervisor.Machine.Tests.Recovery.Faulting;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Recovery;

/// <summary>What a drive's own list of faults and a warning mean for recovery and for what people are told.</summary>
public sealed class DriveFaultListTests
{
    private const ushort HeatSink = 12;
    private const ushort Memory = 40;

    [Theory]
    [InlineData(HeatSink, true)]
    [InlineData(Memory, false)]
    public void FaultThatOnlyAPowerCycleClears_IsNotRecovered(int driveCode, bool isRecovered)
    {
        var rig = MachineRig.Ready(WithList(new RecoveryDefinition([FaultClass.Temperature], 3, TimeSpan.FromMinutes(1), RecoveryAction.Reset)));
        rig.PortOf(Dibber).Fault(Dibber, FaultCode.OverTemperature, (ushort)driveCode);
        rig.Run(5000);

        Assert.Equal(isRecovered, rig.Axis(Dibber).Taken.Any(command => command.Kind == AxisCommandKind.Reset));
        Assert.Equal(isRecovered ? AxisState.Disabled : AxisState.Faulted, rig.Axis(Dibber).Now.State);
    }

    [Fact]
    public void Reset_FaultThatOnlyAPowerCycleClears_SaysSo()
    {
        var rig = MachineRig.Ready(WithList());
        rig.PortOf(Dibber).Fault(Dibber, FaultCode.OverTemperature, Memory);
        rig.Step();
        rig.Axis(Dibber).NextRefusal = Refusal.CauseStillPresent;

        MachineRig.AssertRefused(rig.Do(new ResetCommand([Dibber])), Refusal.CauseStillPresent, "dibber", "over-temperature", "off and on");
    }

    [Fact]
    public void Move_OfAFaultedAxis_TellsTheDrivesOwnWords()
    {
        var rig = MachineRig.Ready(WithList());
        rig.PortOf(Dibber).Fault(Dibber, FaultCode.OverTemperature, HeatSink);
        rig.Step();

        MachineRig.AssertRefused(
            rig.Do(new MoveCommand([new MoveTarget(Dibber, 10, false)], null)), Refusal.AxisFaulted, "over-temperature, drive code 12: Heat sink");
    }

    [Fact]
    public void Warning_BesideARecovery_IsToldAndCancelsNothing()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        Lose(rig, Dibber);
        rig.PortOf(Dibber).Warn(Dibber, FaultCode.HeatingWarning);
        rig.Run(5000);

        Assert.Contains(rig.Journal.Faults, fault => fault.Code == FaultCode.HeatingWarning);
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.Succeeded);
    }

    private static MachineDefinition WithList(params RecoveryDefinition[] recovery)
    {
        var machine = Seeder(dibberRecovery: recovery);
        var drive = Drive with
        {
            Faults =
            [
                new DriveFaultDefinition(HeatSink, FaultCode.OverTemperature, "Heat sink", FaultClear.Reset),
                new DriveFaultDefinition(Memory, FaultCode.OverTemperature, null, FaultClear.PowerCycle),
            ],
        };
        return machine with { Axes = [.. machine.Axes.Select(axis => axis with { Drive = drive })] };
    }
}
