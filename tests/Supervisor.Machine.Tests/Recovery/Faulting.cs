using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Tests.Recovery;

/// <summary>Faults for recovery tests, and what was told of them.</summary>
internal static class Faulting
{
    public static void Lose(MachineRig rig, short axis)
    {
        rig.PortOf(axis).SetOnline(axis, false);
        rig.Axis(axis).Now.Online = true;
        rig.Step();
    }

    public static void Fail(MachineRig rig, short axis, FaultCode code)
    {
        rig.PortOf(axis).Fault(axis, code);
        rig.Step();
    }

    public static void AssertTold(MachineRig rig, params RecoveryChange[] changes) =>
        Assert.Equal(changes, rig.Journal.Recoveries.Select(note => note.Change));
}
