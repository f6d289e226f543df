namespace Supervisor.History.Storage;

/// <summary>Times as the file keeps them: whole nanoseconds since boot, whole microseconds since 1970-01-01 UTC.</summary>
internal static class Units
{
    public static long Nanoseconds(TimeSpan time)
    {
        var limit = long.MaxValue / TimeSpan.NanosecondsPerTick;
        return Math.Clamp(time.Ticks, -limit, limit) * TimeSpan.NanosecondsPerTick;
    }

    public static TimeSpan Monotonic(long nanoseconds) => new(nanoseconds / TimeSpan.NanosecondsPerTick);

    public static long Microseconds(DateTimeOffset utc) => (utc - DateTimeOffset.UnixEpoch).Ticks / TimeSpan.TicksPerMicrosecond;

    /// <summary>Clamped to what a date can hold, so that one damaged value does not make a page unreadable.</summary>
    public static DateTimeOffset Utc(long microseconds) => DateTimeOffset.UnixEpoch.AddTicks(
        Math.Clamp(microseconds, Microseconds(DateTimeOffset.MinValue), Microseconds(DateTimeOffset.MaxValue)) * TimeSpan.TicksPerMicrosecond);
}
