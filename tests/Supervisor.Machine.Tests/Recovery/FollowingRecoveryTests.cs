using Supervisor.Configuration.Machines;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using static Supervisor.Machine.Tests.Recovery.Faulting;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Recovery;

/// <summary>An axis that did not follow is brought back where the file names that class, once at one place.</summary>
public sealed class FollowingRecoveryTests
{
    private static readonly RecoveryDefinition Rule = new([FaultClass.Following], 5, TimeSpan.FromMinutes(10), RecoveryAction.Reset);

    [Fact]
    public void FollowingError_TwiceAtOnePlace_IsRecoveredOnce()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [Rule]));

        Assert.True(IsRecovered(rig, 40));
        Assert.False(IsRecovered(rig, 40.1));
        Assert.Equal(RecoveryChange.NotBegun, rig.Journal.Recoveries[^1].Change);
        Assert.Contains("before", rig.Journal.Recoveries[^1].What, StringComparison.Ordinal);
    }

    [Fact]
    public void FollowingError_AtAnotherPlace_IsRecoveredAgain()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [Rule]));

        Assert.True(IsRecovered(rig, 40));
        Assert.True(IsRecovered(rig, 120));
    }

    [Fact]
    public void FollowingError_WithoutItsClassNamed_IsNotRecovered()
    {
        var others = Enum.GetValues<FaultClass>().Where(each => each != FaultClass.Following).ToArray();
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [Rule with { Faults = others }]));

        Assert.False(IsRecovered(rig, 40));
    }

    private static bool IsRecovered(MachineRig rig, double position)
    {
        rig.Axis(Dibber).Taken.Clear();
        rig.Axis(Dibber).Now.State = AxisState.Ready;
        rig.Axis(Dibber).Now.Position = position;
        Fail(rig, Dibber, FaultCode.FollowingError);
        rig.Run(10_000);
        return rig.Axis(Dibber).Taken.Any(command => command.Kind == AxisCommandKind.Reset);
    }
}
