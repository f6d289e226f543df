using System.Text.Json;
using Supervisor.Configuration.Machines;
using Supervisor.History.Clocks;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Memories;

/// <summary>
/// The file in the state folder that keeps every alarm that is not normal: who acknowledged it, what is out of service and until when. One that can't be
/// understood gives nothing: what still stands is told anew, to be acknowledged anew, and nothing is out of service.
/// </summary>
internal sealed class AlarmFile(MachineDefinition machine, string folder)
{
    private const string FileName = "alarms.json";
    private readonly AlarmNames _names = new(machine);

    /// <summary>Where it is.</summary>
    public string Path { get; } = System.IO.Path.Combine(folder, FileName);

    /// <summary>What an earlier run left, with its times by the clock of this boot.</summary>
    /// <param name="now">Both clocks.</param>
    /// <param name="bootId">This boot.</param>
    /// <param name="problem">What is wrong with the file and what follows; null when it is good or not there.</param>
    public IReadOnlyList<AlarmStatus> Read(in ClockReading now, string bootId, out string? problem)
    {
        problem = null;
        try
        {
            if (!File.Exists(Path))
            {
                return [];
            }

            using var document = JsonDocument.Parse(File.ReadAllBytes(Path));
            var (shift, monotonic) = (Shift(document.RootElement, now, bootId), now.Monotonic);
            return [.. document.RootElement.GetProperty("alarms").EnumerateArray().Select(entry => Take(entry, shift, monotonic)).OfType<AlarmStatus>()];
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException or JsonException
            or KeyNotFoundException or InvalidOperationException or FormatException or ArgumentException or OverflowException)
        {
            problem = $"{Path}: {exception.Message}: alarms that still stand are to be acknowledged anew, and none is out of service";
            return [];
        }
    }

    /// <summary>Replaces the file; once this has returned, it is on the disk.</summary>
    /// <param name="alarms">What is kept.</param>
    /// <param name="now">Both clocks.</param>
    /// <param name="bootId">This boot.</param>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(IReadOnlyList<AlarmStatus> alarms, ClockReading now, string bootId) => FileReplacement.Replace(Path, writer =>
    {
        writer.WriteString("bootId", bootId);
        writer.WriteString("utc", now.Utc);
        writer.WriteBoolean("clockSynchronised", now.Quality == UtcQuality.Synchronised);
        Put(writer, "atMs", now.Monotonic);
        writer.WriteStartArray("alarms");
        foreach (var alarm in alarms)
        {
            if (alarm.State != AlarmState.Normal)
            {
                writer.WriteStartObject();
                Put(writer, alarm);
                writer.WriteEndObject();
            }
        }

        writer.WriteEndArray();
    });

    /// <summary>
    /// What has to be added to a time of the file. Within one boot nothing; else what both wall clocks say, if both are right; null if not: the file counts
    /// as written just now then, and no time of which nobody knows how much is left goes on.
    /// </summary>
    private static TimeSpan? Shift(JsonElement root, in ClockReading now, string bootId)
    {
        if (root.GetProperty("bootId").GetString() == bootId)
        {
            return TimeSpan.Zero;
        }

        var written = root.GetProperty("utc").GetDateTimeOffset();
        return root.GetProperty("clockSynchronised").GetBoolean() && now.Quality == UtcQuality.Synchronised && written <= now.Utc
            ? now.Monotonic - (now.Utc - written) - Time(root, "atMs")
            : null;
    }

    /// <summary>Null for one that is about something the machine file no longer has.</summary>
    private AlarmStatus? Take(JsonElement entry, TimeSpan? shift, TimeSpan now)
    {
        var kind = (AlarmSourceKind)entry.GetProperty("kind").GetByte();
        if (_names.Find(kind, entry.GetProperty("source").GetString() ?? "") is not { } source)
        {
            return null;
        }

        var state = (AlarmState)entry.GetProperty("state").GetByte();
        if (!Enum.IsDefined(state))
        {
            throw new FormatException($"there is no alarm state {(int)state}");
        }

        return new AlarmStatus(
            new AlarmKey(entry.GetProperty("number").GetInt32(), source), state, (FaultPriority)entry.GetProperty("priority").GetByte(),
            Shifted(entry, "sinceMs"), Shifted(entry, "lastMs"), entry.GetProperty("occurrences").GetInt64())
        {
            Occurrence = entry.GetProperty("occurrence").GetInt64(),
            Detail = entry.GetProperty("detail").GetString() ?? "",
            IsLatching = entry.GetProperty("latching").GetBoolean(),
            ReturnedAt = entry.TryGetProperty("returnedMs", out _) ? Shifted(entry, "returnedMs") : null,
            Acknowledged = entry.TryGetProperty("acknowledged", out var known) ? new PersonsAct(known.GetProperty("by").GetString() ?? "", Shifted(known, "atMs")) : null,
            OutOfService = entry.TryGetProperty("outOfService", out var shelf)
                ? new OutOfService(
                    shelf.GetProperty("by").GetString() ?? "", shelf.GetProperty("reason").GetString() ?? "", Shifted(shelf, "atMs"), shift is null ? now : Shifted(shelf, "untilMs"))
                : null,
        };

        TimeSpan Shifted(JsonElement of, string name) => shift is { } by ? Time(of, name) + by : now;
    }

    private void Put(Utf8JsonWriter writer, AlarmStatus alarm)
    {
        writer.WriteNumber("number", alarm.Key.Number);
        writer.WriteNumber("kind", (byte)alarm.Key.Source.Kind);
        writer.WriteString("source", _names.Of(alarm.Key.Source));
        writer.WriteNumber("state", (byte)alarm.State);
        writer.WriteNumber("priority", (byte)alarm.Priority);
        Put(writer, "sinceMs", alarm.Since);
        Put(writer, "lastMs", alarm.LastAt);
        writer.WriteNumber("occurrences", alarm.Occurrences);
        writer.WriteNumber("occurrence", alarm.Occurrence);
        writer.WriteString("detail", alarm.Detail);
        writer.WriteBoolean("latching", alarm.IsLatching);
        if (alarm.ReturnedAt is { } returned)
        {
            Put(writer, "returnedMs", returned);
        }

        if (alarm.Acknowledged is { } known)
        {
            writer.WriteStartObject("acknowledged");
            writer.WriteString("by", known.By);
            Put(writer, "atMs", known.At);
            writer.WriteEndObject();
        }

        if (alarm.OutOfService is { } shelf)
        {
            writer.WriteStartObject("outOfService");
            writer.WriteString("by", shelf.By);
            writer.WriteString("reason", shelf.Reason);
            Put(writer, "atMs", shelf.At);
            Put(writer, "untilMs", shelf.Until);
            writer.WriteEndObject();
        }
    }

    private static TimeSpan Time(JsonElement of, string name) => TimeSpan.FromMilliseconds(of.GetProperty(name).GetDouble());

    private static void Put(Utf8JsonWriter writer, string name, TimeSpan time) => writer.WriteNumber(name, time.TotalMilliseconds);
}
