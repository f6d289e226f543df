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
        var least = long.MaxValue;

        // A collection that other tests cause shifts the thread's count now and then; what a step allocates shows in every round.
        for (var round = 0; round < 5; round++)
        {
            var before = GC.GetAllocatedBytesForCurrentThread();
            for (var i = 0; i < 400; i++)
            {
                now += TimeSpan.FromMicroseconds(100);
                rig.Coordinator.Step(now);
            }

            least = Math.Min(least, GC.GetAllocatedBytesForCurrentThread() - before);
        }

        Assert.Equal(0, least);
    }
}
