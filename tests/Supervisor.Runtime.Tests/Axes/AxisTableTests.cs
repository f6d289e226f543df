using System.Text;
using Supervisor.Drives.Coding;
using Supervisor.Records.Axes;
using Supervisor.Runtime.Axes;

namespace Supervisor.Runtime.Tests.Axes;

/// <summary>The table of an axis, explored as a graph: what must hold in every node whatever happened before.</summary>
public sealed class AxisTableTests
{
    private static readonly AxisNode[] Nodes = Enum.GetValues<AxisNode>();

    private static readonly AxisNode[] Energised =
    [
        AxisNode.Energising, AxisNode.BrakeReleasing, AxisNode.HomeEnergising, AxisNode.HomeBrakeReleasing, AxisNode.Searching, AxisNode.HomeStopping,
        AxisNode.Ready, AxisNode.Running, AxisNode.Halting, AxisNode.StoppingToOff, AxisNode.BrakeClosing, AxisNode.PoweringOff,
    ];

    private static readonly DriveGoal[] Moving = [DriveGoal.Move, DriveGoal.Home];

    [Fact]
    public void EveryNode_HasARowForEveryStopAndEveryFault()
    {
        foreach (var node in Nodes)
        {
            foreach (var on in new[] { AxisEvent.StopRequested, AxisEvent.Category0, AxisEvent.Category1, AxisEvent.Category2, AxisEvent.FaultSeen })
            {
                Assert.True(AxisTable.Awaits(node, on), $"{node} has no row for {on}\n{Listing()}");
            }
        }
    }

    [Fact]
    public void NoRow_LeadsFromFaultedToTorque()
    {
        foreach (var row in AxisTable.Rows.Where(row => row.From.State() == AxisState.Faulted))
        {
            Assert.True(row.To.State() is AxisState.Faulted or AxisState.Disabled, $"{row}");
            Assert.True(row.To == AxisNode.Off || row.To.State() == AxisState.Faulted, $"{row}");

            // A load that is held has its torque; nothing gives it any.
            var keeps = row.From == AxisNode.FaultHolding && row.Goal is DriveGoal.Stand or DriveGoal.Hold;
            Assert.False(row.Goal is DriveGoal.Energise or DriveGoal.Hold or DriveGoal.Stand or DriveGoal.Move or DriveGoal.Push or DriveGoal.Home && !keeps, $"{row}");
        }
    }

    /// <summary>Torque is kept behind a fault only for a load on a brake that failed, and not for longer than a person, an interlock or the drive wants.</summary>
    [Fact]
    public void HeldLoad_IsEnteredByAFailedProofAloneAndLeftTowardsNoTorque()
    {
        var entries = AxisTable.Rows.Where(row => row.To == AxisNode.FaultHolding && row.From != AxisNode.FaultHolding);
        Assert.Equal((AxisNode.ProvingBrake, AxisEvent.ProofFailedUnderLoad), Assert.Single(entries.Select(row => (row.From, row.On))));
        Assert.Equal(
            [
                (AxisEvent.Category0, AxisNode.FaultPoweringOff), (AxisEvent.Category1, AxisNode.FaultStopping),
                (AxisEvent.TorqueOff, AxisNode.FaultOff), (AxisEvent.SupportGiven, AxisNode.FaultBrakeClosing),
            ],
            AxisTable.Rows.Where(row => row.From == AxisNode.FaultHolding && row.To != AxisNode.FaultHolding).Select(row => (row.On, row.To)).OrderBy(way => way.On));
        Assert.False(AxisTable.Awaits(AxisNode.FaultHolding, AxisEvent.ResetGiven));
        Assert.All(AxisTable.Rows.Where(row => row.On == AxisEvent.SupportGiven), row => Assert.Equal(AxisNode.FaultHolding, row.From));
    }

    [Fact]
    public void OnlyAReset_LeadsOutOfFaulted()
    {
        var ways = AxisTable.Rows.Where(row => row.From.State() == AxisState.Faulted && row.To.State() != AxisState.Faulted).ToArray();
        Assert.All(ways, row => Assert.Equal((AxisNode.FaultClearing, AxisEvent.GoalReached, AxisNode.Off), (row.From, row.On, row.To)));
        var entries = AxisTable.Rows.Where(row => row.To == AxisNode.FaultClearing && row.From != AxisNode.FaultClearing).ToArray();
        Assert.All(entries, row => Assert.Equal(AxisEvent.ResetGiven, row.On));
        Assert.NotEmpty(ways);
        Assert.NotEmpty(entries);
    }

    [Fact]
    public void EveryFault_Latches()
    {
        foreach (var row in AxisTable.Rows.Where(row => row.From.State() != AxisState.Faulted && row.To.State() == AxisState.Faulted))
        {
            Assert.True(row.Effects.HasFlag(AxisEffects.Latch), $"{row} enters Faulted without a latched fault");
        }
    }

    [Fact]
    public void MotionBegins_OnlyByACommand()
    {
        foreach (var row in AxisTable.Rows.Where(row => Moving.Contains(row.Goal)))
        {
            // The search that follows energising belongs to the command that energised.
            var isCommanded = row.On is AxisEvent.HomeGiven or AxisEvent.MoveGiven or AxisEvent.JogGiven || row is { From: AxisNode.HomeBrakeReleasing, On: AxisEvent.DeadlinePassed };
            Assert.True(isCommanded, $"{row} begins a motion without a command");
        }

        foreach (var row in AxisTable.Rows.Where(row => row.Goal == DriveGoal.Energise))
        {
            Assert.True(row.From == AxisNode.Off && row.On is AxisEvent.EnableGiven or AxisEvent.HomeGiven, $"{row}");
        }
    }

    /// <summary>The motor pushes only behind a brake that had its time to close, and nothing but a proof that was relieved opens it.</summary>
    [Fact]
    public void AProof_PushesOnlyBehindTheClosedBrake()
    {
        Assert.All(
            AxisTable.Rows.Where(row => row.Goal == DriveGoal.Push),
            row => Assert.Equal((AxisNode.ProofBrakeClosing, AxisEvent.DeadlinePassed), (row.From, row.On)));
        Assert.All(
            AxisTable.Rows.Where(row => row.To == AxisNode.ProofBrakeClosing),
            row => Assert.Equal((AxisNode.Ready, AxisEvent.ProofGiven, AxisDeadline.BrakeClose), (row.From, row.On, row.Deadline)));
        Assert.All(
            AxisTable.Rows.Where(row => row.To == AxisNode.ProofBrakeReleasing),
            row => Assert.Equal((AxisNode.ProvingBrake, AxisEvent.ProofPassed, AxisDeadline.BrakeRelease), (row.From, row.On, row.Deadline)));
        AxisNode[] proof = [AxisNode.ProofBrakeClosing, AxisNode.ProvingBrake, AxisNode.ProofBrakeReleasing];
        foreach (var row in AxisTable.Rows.Where(row => proof.Contains(row.From) && !proof.Contains(row.To) && row.To != AxisNode.Ready))
        {
            Assert.True(row.To is AxisNode.BrakeClosing or AxisNode.PoweringOff or AxisNode.FaultStopping or AxisNode.FaultHolding, $"{row}");
        }
    }

    [Theory]
    [InlineData(AxisEvent.Category0)]
    [InlineData(AxisEvent.Category1)]
    public void Stop_FromEveryEnergisedNode_EndsOff(AxisEvent stop)
    {
        foreach (var node in Energised)
        {
            var seen = After(AxisTable.Row(node, stop).To);
            Assert.True(seen.Any(IsOff), $"{stop} in {node} never ends off\n{Listing()}");
            Assert.True(seen.All(after => After(after).Any(IsOff)), $"{stop} in {node} can get stuck with torque on\n{Listing()}");
            Assert.DoesNotContain(AxisNode.Ready, seen);
            Assert.DoesNotContain(AxisNode.Running, seen);
        }
    }

    [Fact]
    public void StopAndCategory2_FromEveryEnergisedNode_EndReadyOrOff()
    {
        foreach (var stop in new[] { AxisEvent.StopRequested, AxisEvent.Category2 })
        {
            foreach (var node in Energised)
            {
                var seen = After(AxisTable.Row(node, stop).To);
                Assert.True(seen.Any(after => IsOff(after) || after == AxisNode.Ready), $"{stop} in {node}");
                Assert.DoesNotContain(AxisNode.Running, seen);
                Assert.DoesNotContain(AxisNode.Searching, seen);
            }
        }
    }

    [Fact]
    public void Fault_FromEveryNode_EndsFaultedAndOff()
    {
        foreach (var node in Nodes)
        {
            var seen = After(AxisTable.Row(node, AxisEvent.FaultSeen).To);
            Assert.Contains(AxisNode.FaultOff, seen);
            Assert.All(seen, after => Assert.Equal(AxisState.Faulted, after.State()));
        }
    }

    [Theory]
    [InlineData(AxisEvent.StopRequested)]
    [InlineData(AxisEvent.Category0)]
    [InlineData(AxisEvent.Category1)]
    [InlineData(AxisEvent.Category2)]
    public void StoppedHoming_EndsDisabledWithoutAZero(AxisEvent stop)
    {
        foreach (var node in new[] { AxisNode.HomeEnergising, AxisNode.HomeBrakeReleasing, AxisNode.Searching, AxisNode.HomeStopping })
        {
            var seen = After(AxisTable.Row(node, stop).To);
            Assert.Contains(AxisNode.Off, seen);
            Assert.DoesNotContain(AxisNode.Ready, seen);
        }

        var gains = AxisTable.Rows.Where(row => row.Effects.HasFlag(AxisEffects.GainReference)).ToArray();
        Assert.All(gains, row => Assert.Equal((AxisNode.Searching, AxisEvent.GoalReached), (row.From, row.On)));
        Assert.All(AxisTable.Rows.Where(row => row.On == AxisEvent.HomeGiven), row => Assert.True(row.Effects.HasFlag(AxisEffects.LoseReference)));
    }

    [Fact]
    public void Deadlines_RunWhereAwaitedAndNowhereElse()
    {
        foreach (var row in AxisTable.Rows)
        {
            if (row.Deadline is not (AxisDeadline.None or AxisDeadline.Keep))
            {
                Assert.True(AxisTable.Awaits(row.To, AxisEvent.DeadlinePassed), $"{row} starts a deadline that nobody awaits");
            }
        }

        // A node that waits for the drive is never entered without a deadline: the drive may never answer.
        foreach (var node in Nodes.Where(node => AxisTable.Awaits(node, AxisEvent.DeadlinePassed)))
        {
            foreach (var row in AxisTable.Rows.Where(row => row.To == node && row.From != node))
            {
                Assert.True(row.Deadline is not (AxisDeadline.None or AxisDeadline.Keep), $"{row} enters {node} without a deadline");
            }
        }
    }

    [Fact]
    public void ADeadlineThatPasses_NeverEndsInLessThanItShould()
    {
        // Torque off follows the brake's time, and motion only follows a brake that had its time to open.
        foreach (var row in AxisTable.Rows.Where(row => row.Goal == DriveGoal.PowerOff && row.On != AxisEvent.TorqueOff && row.From != row.To))
        {
            Assert.True(
                row.From is AxisNode.BrakeClosing or AxisNode.FaultBrakeClosing or AxisNode.FaultClearing, $"{row} takes the torque without the brake's time");
        }

        Assert.All(
            AxisTable.Rows.Where(row => row.Goal == DriveGoal.CutPower),
            row => Assert.True(row.On is AxisEvent.Category0 or AxisEvent.DeadlinePassed or AxisEvent.GoalFailed, $"{row} cuts the torque for no grave reason"));
    }

    [Fact]
    public void Goals_FitTheNodeTheyLeadTo()
    {
        foreach (var row in AxisTable.Rows)
        {
            var fits = row.To switch
            {
                AxisNode.Ready => row.Goal == DriveGoal.Hold,
                AxisNode.Running or AxisNode.Jogging => row.Goal == DriveGoal.Move,
                AxisNode.Searching => row.Goal == DriveGoal.Home,
                AxisNode.ProvingBrake => row.Goal == DriveGoal.Push,
                AxisNode.FaultHolding => row.Goal is DriveGoal.Stand or DriveGoal.None,
                AxisNode.Halting => row.Goal == DriveGoal.Halt,
                AxisNode.HomeStopping or AxisNode.FaultStopping => row.Goal is DriveGoal.QuickStop or DriveGoal.None,
                AxisNode.StoppingToOff => row.Goal is DriveGoal.QuickStop or DriveGoal.Halt,
                AxisNode.Energising or AxisNode.HomeEnergising => row.Goal == DriveGoal.Energise,
                AxisNode.PoweringOff or AxisNode.FaultPoweringOff => row.Goal is DriveGoal.PowerOff or DriveGoal.CutPower or DriveGoal.None,
                AxisNode.FaultClearing => row.Goal is DriveGoal.ClearFault or DriveGoal.None,
                AxisNode.Off or AxisNode.FaultOff => row.Goal is DriveGoal.PowerOff or DriveGoal.None,
                _ => row.Goal is not (DriveGoal.Move or DriveGoal.Push or DriveGoal.Stand or DriveGoal.Home or DriveGoal.ClearFault),
            };
            Assert.True(fits, $"{row}");
        }
    }

    [Fact]
    public void Listing_ReadsLikeTheDiagram()
    {
        var listing = Listing();
        Assert.Contains("Ready              MoveGiven       -> Running", listing, StringComparison.Ordinal);
        Assert.Contains("Searching          StopRequested   -> HomeStopping", listing, StringComparison.Ordinal);
        Assert.Equal(AxisTable.Rows.Count, listing.Split('\n', StringSplitOptions.RemoveEmptyEntries).Length);
        TestContext.Current.TestOutputHelper?.WriteLine(listing);
    }

    [Fact]
    public void Row_ThatIsNone_Throws() =>
        Assert.Throws<InvalidOperationException>(() => AxisTable.Row(AxisNode.Connecting, AxisEvent.MoveGiven));

    private static bool IsOff(AxisNode node) => node is AxisNode.Off or AxisNode.FaultOff;

    /// <summary>Every node that can follow without a command or another stop.</summary>
    private static HashSet<AxisNode> After(AxisNode from)
    {
        var seen = new HashSet<AxisNode> { from };
        var open = new Queue<AxisNode>([from]);
        while (open.TryDequeue(out var node))
        {
            foreach (var row in AxisTable.Rows.Where(row => row.From == node && !IsOff(node) && row.On is not (AxisEvent.EnableGiven or AxisEvent.DisableGiven
                or AxisEvent.HomeGiven or AxisEvent.MoveGiven or AxisEvent.ResetGiven or AxisEvent.ProofGiven)))
            {
                if (seen.Add(row.To))
                {
                    open.Enqueue(row.To);
                }
            }
        }

        return seen;
    }

    private static string Listing()
    {
        var text = new StringBuilder();
        foreach (var row in AxisTable.Rows)
        {
            text.Append($"{row.From,-18} {row.On,-15} -> {row.To,-18} {row.Goal,-10} {row.Deadline,-12} {row.Effects}\n");
        }

        return text.ToString();
    }
}
