using Supervisor.Api.V1;
using Supervisor.Daemon.Services;
using Supervisor.Daemon.Verbs;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Faults;
using Stored = Supervisor.History.Entries.RecoveryRecord;

namespace Supervisor.Daemon.Tests.Verbs;

/// <summary>Every attempt as people and programs read it: its number, of how many, the fault, what was done and how it ended.</summary>
public sealed class RecoveryListingTests
{
    [Fact]
    public void OutcomeOf_EveryStep_HasItsOwn()
    {
        var known = Enum.GetValues<RecoveryStep>().Where(step => step != RecoveryStep.None).ToArray();

        Assert.Equal(known.Length, known.Select(RecoveryMapping.OutcomeOf).Where(outcome => outcome != RecoveryOutcome.Unspecified).Distinct().Count());
        Assert.Equal(RecoveryOutcome.Unspecified, RecoveryMapping.OutcomeOf((RecoveryStep)99));
    }

    [Fact]
    public void ToJson_FailedAttempt_TellsAllOfIt()
    {
        var json = RecoveryListing.ToJson(Message(RecoveryStep.Failed, "attempt 2 of 3 failed: link lost"));

        Assert.Equal(("dibber", "LINK_LOST", "attemptFailed", 2, 3, "resetAndHome"), (json.Axis, json.Fault, json.Outcome, json.Attempt, json.Attempts, json.Action));
        Assert.Equal("attempt 2 of 3 failed: link lost", json.Detail);
    }

    [Theory]
    [InlineData(RecoveryStep.Failed, "attempt 2 of 3 failed: link lost", "dibber: recovery from link lost attempt 2 of 3 failed: link lost")]
    [InlineData(RecoveryStep.Succeeded, "succeeded: the axis is homed", "dibber: recovery from link lost, attempt 2 of 3: succeeded: the axis is homed")]
    [InlineData(RecoveryStep.GivenUp, "", "dibber: recovery from link lost given up")]
    public void Line_Step_SaysWhatHappened(RecoveryStep step, string detail, string expected) =>
        Assert.EndsWith(expected, RecoveryListing.Line(Message(step, detail)), StringComparison.Ordinal);

    private static Api.V1.RecoveryRecord Message(RecoveryStep step, string detail) => RecoveryMapping.ToMessage(new StoredRecord(
        7, "boot", DateTimeOffset.UnixEpoch, UtcQuality.Synchronised, new Stored(TimeSpan.FromSeconds(1), "dibber", FaultCode.LinkLost, step, 2, 3, detail) { Action = "resetAndHome" }));
}
