using Supervisor.Configuration.Machines;
using Supervisor.Drives.Coding;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Axes;

/// <summary>How the catalogue says that a fault stops its axis, against the rows that stop it. What drives and their group do: the scenarios.</summary>
public sealed class FaultReactionTests
{
    /// <summary>Found by a deadline, by an interlock or by the process, and not seen on the axis.</summary>
    private static readonly FaultCode[] NeverSeen =
    [
        FaultCode.EnergisingTimeout, FaultCode.StopFailed, FaultCode.ChannelDiscrepancy, FaultCode.PortThreadEnded,
        FaultCode.ContactorWelded, FaultCode.ContactorMissing, FaultCode.ContactorFell, FaultCode.PowerDropped, FaultCode.ModuleErrorsTooMany,
    ];

    /// <summary>Rows that only a drive's own fault could raise, which is seen before them.</summary>
    private static readonly (AxisNode, AxisEvent)[] SeenBefore = [(AxisNode.Energising, AxisEvent.GoalFailed), (AxisNode.HomeEnergising, AxisEvent.GoalFailed)];

    [Fact]
    public void LatchingRow_OfEveryNode_StopsAsTheCatalogueSays()
    {
        var judged = 0;
        foreach (var row in AxisTable.Rows.Where(row => row.Effects.HasFlag(AxisEffects.Latch) && !SeenBefore.Contains((row.From, row.On))))
        {
            foreach (var code in CodesOf(row))
            {
                var stated = FaultCatalogue.ReactionTo(code).Axis;

                // Where power is being taken, a slower stop must not take its place.
                var expected = row is { From: AxisNode.PoweringOff, On: AxisEvent.FaultSeen } ? DriveGoal.None
                    : stated == StopReaction.CutPower ? DriveGoal.CutPower
                    : row.On == AxisEvent.ProofFailedUnderLoad ? DriveGoal.Stand
                    : DriveGoal.QuickStop;
                var isStated = row.On == AxisEvent.ProofFailedUnderLoad ? stated == StopReaction.HoldLoad : stated is StopReaction.CutPower or StopReaction.QuickStopThenOff or StopReaction.HoldLoad;
                Assert.True(isStated && row.Goal == expected, $"{code} is stated as {stated}; {row}");
                judged++;
            }
        }

        Assert.True(judged > 100);
    }

    [Fact]
    public void EnergisingTimeout_OfADriveThatNeverGivesTorque_CutsPower()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        rig.Meet();
        rig.Drives[0].Statusword = 0x0233;
        rig.Give(0, AxisCommandKind.Enable);
        AssertFaultCutsPower(rig, FaultCode.EnergisingTimeout);
    }

    [Fact]
    public void StopFailed_OfADriveThatGoesOn_CutsThePowerOfItsGroup()
    {
        var machine = Parts.Machine(Parts.Axis("a") with { Group = 0 }, Parts.Axis("b", 2) with { Group = 0 }) with { Groups = [new GroupDefinition("pair", [0, 1])] };
        var rig = new StepperRig(machine);
        rig.Meet();
        rig.Give(0, AxisCommandKind.Enable);
        rig.Give(1, AxisCommandKind.Enable);
        rig.RunUntil(() => rig.Axis(0).State == AxisState.Ready && rig.Axis(1).State == AxisState.Ready, "ready");
        rig.Give(0, AxisCommandKind.Move, 100);
        rig.Run(100);
        rig.Drives[0].Velocity = 50_000;
        rig.Drives[0].ObeysStops = false;
        rig.Run(100);
        rig.Board.Latch.RequestHalt(0);
        AssertFaultCutsPower(rig, FaultCode.StopFailed);
        Assert.Equal(StopReaction.CutPower, FaultCatalogue.ReactionTo(FaultCode.StopFailed).Group);
    }

    /// <summary>A register that was never filled, or a sentinel, must not give the stop hours.</summary>
    [Fact]
    public void StopFailed_OfADriveThatTellsAVelocityThatNoAxisHas_IsFoundAllTheSame()
    {
        var rig = Moving(Parts.Axis("a"));
        rig.Drives[0].ToldVelocity = int.MaxValue;
        rig.Run(100);
        rig.Board.Latch.RequestHalt(0);
        AssertFaultCutsPower(rig, FaultCode.StopFailed);
    }

    /// <summary>
    /// A double-S stop from v = 40 with a = 20 and j = 10 takes v/a + a/j = 4 s (Biagiotti and Melchiorri, Trajectory Planning, 3.4): twice as long as
    /// the same ramp without a limit of its jerk.
    /// </summary>
    [Fact]
    public void StopOfAnAxisWithLimitedJerk_TakesItsTimeAndIsNoFault()
    {
        const double Speed = 40;
        const double Jerk = 10;
        var rig = Moving(Parts.Axis("a") with { Limits = new LimitsDefinition(0, 500, 50, 20, 20, Jerk) });
        rig.Drives[0].Velocity = (int)(Speed * 1000);
        rig.Drives[0].ObeysStops = false;
        rig.Run(100);
        rig.Board.Latch.RequestHalt(0);
        var begun = rig.Now;
        while ((rig.Now - begun).TotalSeconds is < 4 and var t)
        {
            var velocity = t < 2 ? Speed - (Jerk * t * t / 2) : Jerk * (4 - t) * (4 - t) / 2;
            rig.Drives[0].Velocity = (int)(velocity * 1000);
            rig.Run(5);
        }

        rig.Drives[0].Velocity = 0;
        rig.RunUntil(() => rig.Axis(0).State == AxisState.Ready, "at rest");
        Assert.Equal(FaultCode.None, rig.Axis(0).Fault);
    }

    /// <summary>What a drive did while the computer stood still is seen once it goes on, and not before.</summary>
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void StopOfADrive_WhileTheComputerStandsStill_IsJudgedByTheNextLooks(bool goesOn)
    {
        var rig = Moving(Parts.Axis("a"));
        rig.Drives[0].Velocity = 50_000;
        rig.Drives[0].ObeysStops = false;
        rig.Run(60);
        rig.Board.Latch.RequestHalt(0);
        rig.Run(25);
        rig.Drives[0].Velocity = goesOn ? 50_000 : 0;
        rig.StandStill(3_000);

        if (goesOn)
        {
            AssertFaultCutsPower(rig, FaultCode.StopFailed);
        }
        else
        {
            rig.Run(400);
            Assert.Equal((AxisState.Ready, FaultCode.None), (rig.Axis(0).State, rig.Axis(0).Fault));
        }
    }

    /// <summary>A line so bad, or a computer so busy, that the drive is looked at too seldom all the while, puts no judgement off for ever.</summary>
    [Fact]
    public void EnergisingTimeout_OfADriveLookedAtTooSeldom_IsJudgedAllTheSame()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        rig.Meet();
        rig.Drives[0].Statusword = 0x0233;
        rig.Give(0, AxisCommandKind.Enable);
        for (var turn = 0; turn < 100; turn++)
        {
            rig.StandStill(300);
            rig.Run(15);
        }

        Assert.Equal((AxisState.Faulted, FaultCode.EnergisingTimeout), (rig.Axis(0).State, rig.Axis(0).Fault));
    }

    private static StepperRig Moving(AxisDefinition axis)
    {
        var rig = new StepperRig(Parts.Machine(axis));
        rig.Meet();
        rig.Give(0, AxisCommandKind.Enable);
        rig.RunUntil(() => rig.Axis(0).State == AxisState.Ready, "ready");
        rig.Give(0, AxisCommandKind.Move, 400);
        rig.Run(100);
        return rig;
    }

    /// <summary>
    /// The first word that every drive gets of the fault. CiA 402, controlword: "disable voltage" has bit 1 at 0, "quick stop" has bit 1 at 1 and bit 2 at 0
    /// (value from memory).
    /// </summary>
    private static void AssertFaultCutsPower(StepperRig rig, FaultCode code)
    {
        var before = new int[rig.Drives.Length];
        rig.RunUntil(
            () =>
            {
                before = rig.Axis(0).State == AxisState.Faulted ? before : [.. rig.Drives.Select(drive => drive.Writes.Count)];
                return rig.Axis(0).State == AxisState.Faulted;
            },
            "faulted");
        Assert.Equal(code, rig.Axis(0).Fault);
        rig.Run(200);
        foreach (var (drive, from) in rig.Drives.Zip(before))
        {
            Assert.Equal((64, 0), (drive.Writes[from].Register, drive.Writes[from].Value & 0x02));
        }

        Assert.Equal(StopReaction.CutPower, FaultCatalogue.ReactionTo(code).Axis);
    }

    private static IEnumerable<FaultCode> CodesOf(AxisRow row) => row.On switch
    {
        AxisEvent.DeadlinePassed => [Axis.FaultOfDeadline(row.From)],
        AxisEvent.GoalFailed => [FaultCode.HomingFailed],
        AxisEvent.ProofFailedUnderLoad => [FaultCode.BrakeProofFailed],
        _ => FaultCatalogue.Entries.Where(entry => entry.Class is not (FaultClass.None or FaultClass.Warning)).Select(entry => entry.Code).Except(NeverSeen),
    };
}
