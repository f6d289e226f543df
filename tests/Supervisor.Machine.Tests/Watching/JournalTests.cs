using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Watching;

public sealed class JournalTests
{
    [Fact]
    public void Faults_AreTakenFromEveryRing()
    {
        var rig = MachineRig.Ready();
        rig.PortOf(Tray).Fault(Tray, FaultCode.UnderVoltage);
        rig.PortOf(Drum).Fault(Drum, FaultCode.OverTemperature);
        rig.Step();
        Assert.Equal([FaultCode.UnderVoltage, FaultCode.OverTemperature], rig.Journal.Faults.Select(fault => fault.Code));
    }

    [Fact]
    public void Ports_AreToldWhenLostAndFound()
    {
        var rig = MachineRig.Ready();
        rig.Ports[1].Open = false;
        rig.Step(3);
        rig.Ports[1].Open = true;
        rig.Step(3);
        Assert.Equal([(1, false), (1, true)], rig.Journal.Ports);
    }

    [Fact]
    public void Port_ThatOpensSoonAfterTheStart_IsNotToldAsLost()
    {
        var rig = new MachineRig();
        rig.Ports[1].Open = false;
        rig.Run(500);
        rig.Ports[1].Open = true;
        rig.Run(100);
        Assert.DoesNotContain((1, false), rig.Journal.Ports);
    }

    [Fact]
    public void Port_ThatNeverOpens_IsTold()
    {
        var rig = new MachineRig();
        rig.Ports[1].Open = false;
        rig.Run(2500);
        Assert.Contains((1, false), rig.Journal.Ports);
    }

    [Fact]
    public void Commands_WorthKeeping_AreKept()
    {
        var rig = MachineRig.Ready();
        rig.Do(new MoveCommand([new(Drum, 10, false)], null));
        rig.Do(new DisableCommand([Drum]));
        rig.Do(new MoveCommand([new(Drum, 10, false)], null));
        Assert.Equal([Outcome.Done, Outcome.Refused], rig.Journal.Commands.Select(entry => entry.Answer.Outcome));
        Assert.All(rig.Journal.Commands, entry => Assert.Equal("operator", entry.Holder));
    }
}
