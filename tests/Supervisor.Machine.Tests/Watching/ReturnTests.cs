using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Watching;

public sealed class ReturnTests
{
    [Fact]
    public void Axis_ResetAndEnabledAgain_IsToldOnceEach()
    {
        var rig = MachineRig.Ready();
        rig.PortOf(Drum).Fault(Drum, FaultCode.UnderVoltage);
        rig.Run(100);
        Assert.Empty(rig.Journal.Returns);

        rig.Do(new ResetCommand([Drum]));
        Assert.Equal([(Drum, FaultCode.UnderVoltage, AxisReturn.Cleared)], rig.Journal.Returns);

        rig.Do(new EnableCommand([Drum]));
        rig.Do(new DisableCommand([Drum]));
        rig.Do(new EnableCommand([Drum]));
        Assert.Equal([(Drum, FaultCode.UnderVoltage, AxisReturn.Cleared), (Drum, FaultCode.UnderVoltage, AxisReturn.Ready)], rig.Journal.Returns);
    }

    [Fact]
    public void Axis_FaultedAgainBeforeItWasReady_IsClearedTwiceAndReadyOnce()
    {
        var rig = MachineRig.Ready();
        rig.PortOf(Drum).Fault(Drum, FaultCode.UnderVoltage);
        rig.Step();
        rig.Do(new ResetCommand([Drum]));
        rig.PortOf(Drum).Fault(Drum, FaultCode.OverTemperature);
        rig.Step();
        rig.Do(new ResetCommand([Drum]));
        rig.Do(new EnableCommand([Drum]));

        Assert.Equal(
            [(FaultCode.UnderVoltage, AxisReturn.Cleared), (FaultCode.OverTemperature, AxisReturn.Cleared), (FaultCode.OverTemperature, AxisReturn.Ready)],
            rig.Journal.Returns.Select(told => (told.After, told.Step)));
    }

    [Fact]
    public void Faults_OfSeveralPorts_AreToldInTheOrderInWhichTheyWereSeen()
    {
        var rig = MachineRig.Ready();
        foreach (var (port, axis, ms) in ((int, int, double)[])[(0, Tray, 4), (0, Gantry, 4), (1, Drum, 1), (1, Drum, 9)])
        {
            var at = rig.Now + TimeSpan.FromMilliseconds(ms);
            rig.Board.Ports[port].Faults.TryWrite(new FaultEvent(at, (short)axis, (short)port, FaultCode.UnderVoltage, (ushort)ms, AxisState.Ready, 0, 0));
        }

        rig.Step();

        Assert.Equal([(Drum, 1), (Tray, 4), (Gantry, 4), (Drum, 9)], rig.Journal.Faults.Select(fault => ((int)fault.Axis, (int)fault.DriveCode)));
    }
}
