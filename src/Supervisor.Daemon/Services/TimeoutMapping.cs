using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;
using Supervisor.Daemon.Memories;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Stored = Supervisor.History.Entries.TimeoutProofRecord;

namespace Supervisor.Daemon.Services;

/// <summary>Proofs of communication time-outs as messages.</summary>
internal static class TimeoutMapping
{
    /// <summary>How an axis's time-out stands; null where its drive declares none.</summary>
    public static TimeoutProof? ToMessage(AxisDefinition axis, (TimeoutStanding Standing, KeptTimeoutProofs Kept) known)
    {
        if (known.Standing == TimeoutStanding.None)
        {
            return null;
        }

        var message = new TimeoutProof
        {
            // The API's numbers are the model's.
            State = (TimeoutProofState)known.Standing,
            TimeoutMs = axis.CommunicationTimeout.TotalMilliseconds,
            Text = TimeoutStandings.Text(axis, known.Kept, known.Standing),
        };
        if (known.Kept.Passed is { } passed)
        {
            message.PassedTime = Timestamp.FromDateTimeOffset(passed.Utc);
            message.TimeTrusted = passed.IsClockRight;
            message.Velocity = passed.Velocity;
            message.Distance = passed.Distance;
        }

        return message;
    }

    public static Api.V1.TimeoutProofRecord ToMessage(StoredRecord stored)
    {
        var message = ToMessage((Stored)stored.Record);
        message.Sequence = stored.Sequence;
        message.Time = Timestamp.FromDateTimeOffset(stored.Utc);
        message.TimeTrusted = stored.Quality is UtcQuality.Synchronised or UtcQuality.Derived;
        return message;
    }

    /// <summary>Without its place and time in the history.</summary>
    public static Api.V1.TimeoutProofRecord ToMessage(Stored proof)
    {
        var message = new Api.V1.TimeoutProofRecord
        {
            Axis = proof.Axis,
            Unit = proof.Unit,
            Verdict = (TimeoutVerdict)proof.Verdict,
            Reaction = proof.Reaction,
            TimeoutMs = proof.Timeout.TotalMilliseconds,
            SilenceMs = proof.Silence.TotalMilliseconds,
            Velocity = proof.Velocity,
            Distance = proof.Distance,
            DriveCode = proof.DriveCode,
            CommandId = proof.CommandId,
            Holder = proof.Holder,
        };
        if (proof.Allowed is { } allowed)
        {
            message.AllowedDistance = allowed;
        }

        if (proof.RestAfter is { } rest)
        {
            message.RestMs = rest.TotalMilliseconds;
        }

        if (proof.OffAfter is { } off)
        {
            message.OffMs = off.TotalMilliseconds;
        }

        if (proof.ActedAfter is { } acted)
        {
            message.ActedMs = acted.TotalMilliseconds;
        }

        return message;
    }
}
