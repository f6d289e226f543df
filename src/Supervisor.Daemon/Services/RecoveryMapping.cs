using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Stored = Supervisor.History.Entries.RecoveryRecord;

namespace Supervisor.Daemon.Services;

/// <summary>A step of a recovery as a message.</summary>
internal static class RecoveryMapping
{
    public static Api.V1.RecoveryRecord ToMessage(StoredRecord stored)
    {
        var recovery = (Stored)stored.Record;
        return new Api.V1.RecoveryRecord
        {
            Sequence = stored.Sequence,
            Time = Timestamp.FromDateTimeOffset(stored.Utc),
            TimeTrusted = stored.Quality is UtcQuality.Synchronised or UtcQuality.Derived,
            Axis = recovery.Axis,
            Fault = ApiErrors.ReasonOf(recovery.Code),
            Outcome = OutcomeOf(recovery.Step),
            Attempt = recovery.Attempt,
            Attempts = recovery.Attempts,
            Action = recovery.Action,
            Detail = recovery.Detail,
        };
    }

    /// <summary>One that a newer version wrote is unspecified here.</summary>
    public static RecoveryOutcome OutcomeOf(RecoveryStep step) => step switch
    {
        RecoveryStep.Begun => RecoveryOutcome.Begun,
        RecoveryStep.Succeeded => RecoveryOutcome.Succeeded,
        RecoveryStep.Failed => RecoveryOutcome.AttemptFailed,
        RecoveryStep.GivenUp => RecoveryOutcome.GivenUp,
        RecoveryStep.Cancelled => RecoveryOutcome.Cancelled,
        RecoveryStep.NotBegun => RecoveryOutcome.NotBegun,
        _ => RecoveryOutcome.Unspecified,
    };
}
