using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>Every composite state of axis, drive, interlocks, authority and recovery.</summary>
public sealed class ExplorationTests
{
    /// <summary>Rows that nothing can reach, each with the reason; a row that can be reached must not stand here.</summary>
    internal static readonly IReadOnlyDictionary<(AxisNode From, AxisEvent On), string> NeverUsed = new Dictionary<(AxisNode, AxisEvent), string>
    {
        [(AxisNode.Energising, AxisEvent.GoalFailed)] = "energising fails only by a drive's fault, and a fault in a feedback is seen before its goal is carried on",
        [(AxisNode.HomeEnergising, AxisEvent.GoalFailed)] = "the same",
        [(AxisNode.FaultStopping, AxisEvent.FaultSeen)] = "a fault while one is latched is not raised; the row only says what would happen",
        [(AxisNode.FaultBrakeClosing, AxisEvent.FaultSeen)] = "the same",
        [(AxisNode.FaultPoweringOff, AxisEvent.FaultSeen)] = "the same",
        [(AxisNode.FaultOff, AxisEvent.FaultSeen)] = "the same",
        [(AxisNode.FaultHolding, AxisEvent.FaultSeen)] = "the same",
    };

    [Fact]
    public void AxisTable_WithDriveInterlocksAuthorityAndRecovery_KeepsEveryInvariant()
    {
        var explorer = new Explorer(TableUnderTest.Real(), new CodedGoals());
        var violation = explorer.Run();
        var rows = AxisTable.Rows.Select((row, number) => (row.From, row.On, Uses: explorer.UsesOf(number).Count)).ToList();
        TestContext.Current.TestOutputHelper!.WriteLine(
            $"{explorer.States.Count} composite states, {explorer.Transitions} transitions, {rows.Count(row => row.Uses > 0)} of {rows.Count} rows used");
        Assert.True(violation is null, violation);
        Assert.Equal(
            NeverUsed.Keys.Select(row => $"{row.From} on {row.On}").Order(),
            rows.Where(row => row.Uses == 0).Select(row => $"{row.From} on {row.On}").Order());
    }
}
