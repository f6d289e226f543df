using System.Globalization;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary>What was done by itself about the faults that are listed.</summary>
internal static class RecoveryListing
{
    private const int Page = 200;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    /// <summary>Every step since the oldest of the faults, newest first.</summary>
    /// <param name="daemon">The daemon.</param>
    /// <param name="axis">Only of this axis; empty: all.</param>
    /// <param name="faults">The faults that are listed, newest first.</param>
    /// <param name="limit">Most faults that were asked for: with fewer, nothing is older.</param>
    /// <param name="cancellation">Ends it.</param>
    public static async Task<IReadOnlyList<RecoveryRecord>> ReadAsync(
        DaemonConnection daemon, string axis, IReadOnlyList<FaultRecord> faults, int limit, CancellationToken cancellation)
    {
        var steps = new List<RecoveryRecord>();
        var oldest = faults.Count < limit ? 0 : faults[^1].Sequence;
        var token = "";
        do
        {
            var request = new ListRecoveriesRequest { Axis = axis, PageSize = Page, PageToken = token };
            var page = await daemon.History.ListRecoveriesAsync(request, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
            steps.AddRange(page.Recoveries.Where(step => step.Sequence > oldest));
            token = page.Recoveries.Count > 0 && page.Recoveries[^1].Sequence > oldest ? page.NextPageToken : "";
        }
        while (token.Length > 0);
        return steps;
    }

    public static string Line(RecoveryRecord step) =>
        $"{Text.Time(step.Time, step.TimeTrusted)}  {step.Axis}: recovery from {Text.Words(step.Fault)}{Number(step)} {(step.Detail.Length > 0 ? step.Detail : Words(step.Outcome))}";

    public static RecoveryJson ToJson(RecoveryRecord step) => new(
        step.Sequence, step.Time.ToDateTime().ToString("O", CultureInfo.InvariantCulture), step.TimeTrusted, step.Axis, step.Fault, JsonWord(step.Outcome),
        step.Attempt, step.Attempts, step.Action.Length > 0 ? step.Action : null, step.Detail);

    private static string Number(RecoveryRecord step) =>
        step.Attempt > 0 && step.Outcome is RecoveryOutcome.Succeeded or RecoveryOutcome.Cancelled ? $", attempt {step.Attempt} of {step.Attempts}:" : "";

    private static string Words(RecoveryOutcome outcome) => outcome switch
    {
        RecoveryOutcome.AttemptFailed => "attempt failed",
        RecoveryOutcome.GivenUp => "given up",
        RecoveryOutcome.NotBegun => "not begun",
        _ => outcome.ToString().ToLowerInvariant(),
    };

    private static string JsonWord(RecoveryOutcome outcome) => outcome switch
    {
        RecoveryOutcome.AttemptFailed => "attemptFailed",
        RecoveryOutcome.GivenUp => "givenUp",
        RecoveryOutcome.NotBegun => "notBegun",
        _ => outcome.ToString().ToLowerInvariant(),
    };
}
