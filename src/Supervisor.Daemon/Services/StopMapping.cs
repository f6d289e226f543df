using Google.Protobuf.WellKnownTypes;
using Supervisor.History.Clocks;
using Supervisor.History.Reading;
using Stored = Supervisor.History.Entries.StopRecord;

namespace Supervisor.Daemon.Services;

/// <summary>A measured stop as a message.</summary>
internal static class StopMapping
{
    public static Api.V1.StopRecord ToMessage(StoredRecord stored)
    {
        var stop = (Stored)stored.Record;
        var message = new Api.V1.StopRecord
        {
            Sequence = stored.Sequence,
            Time = Timestamp.FromDateTimeOffset(stored.Utc),
            TimeTrusted = stored.Quality is UtcQuality.Synchronised or UtcQuality.Derived,
            Axis = stop.Axis,
            Cause = stop.Cause,
            Category = stop.Category,
            Unit = stop.Unit,
            Velocity = stop.Velocity,
            Distance = stop.Distance,
        };
        if (stop.RestAfter is { } rest)
        {
            message.RestMs = rest.TotalMilliseconds;
        }

        if (stop.OffAfter is { } off)
        {
            message.OffMs = off.TotalMilliseconds;
        }

        return message;
    }
}
