using Supervisor.Machine.Tests.Rig;

namespace Supervisor.Machine.Tests;

public sealed class SteadyStateTests
{
    [Fact]
    public void Step_WhileNothingHappens_AllocatesNothing()
    {
        var rig = MachineRig.Ready();
        rig.Run(1000);
        var now = rig.Now;
        var before = GC.GetAllocatedBytesForCurrentThread();
        for (var i = 0; i < 1000; i++)
        {
            now += TimeSpan.FromMicroseconds(100);
            rig.Coordinator.Step(now);
        }

        Assert.Equal(0, GC.GetAllocatedBytesForCurrentThread() - before);
    }
}
