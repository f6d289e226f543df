namespace Supervisor.Runtime.Contact;

/// <summary>What was known of an axis's zero when it was last gained or lost: enough to prove it to a supervisor that starts later.</summary>
/// <remarks>Fixed size: it crosses from a port's thread to whoever writes it down.</remarks>
public struct ReferenceNote
{
    /// <summary>Counts the notes of an axis; 0: nothing was ever noted.</summary>
    public int Version;

    /// <summary>The zero was known.</summary>
    public bool Referenced;

    /// <summary>The drive tells its serial number.</summary>
    public bool SerialKnown;
    public uint SerialNumber;

    /// <summary>The drive tells its uptime, and the note is of this boot of the board: its times can be compared.</summary>
    public bool UptimeKnown;

    /// <summary>The drive's uptime, ms, at <see cref="At"/>.</summary>
    public double UptimeMs;

    /// <summary>Monotonic time since boot.</summary>
    public TimeSpan At;

    /// <summary>True when something was noted.</summary>
    public readonly bool IsKnown => Version > 0;
}
