namespace Supervisor.History.Clocks;

/// <summary>Both clocks, read together.</summary>
/// <param name="Monotonic">Time since boot on CLOCK_MONOTONIC.</param>
/// <param name="Utc">The wall clock at that moment.</param>
/// <param name="Quality">How far the wall clock can be trusted: <see cref="UtcQuality.Unsynchronised"/> or <see cref="UtcQuality.Synchronised"/>.</param>
public readonly record struct ClockReading(TimeSpan Monotonic, DateTimeOffset Utc, UtcQuality Quality);

/// <summary>How far a time of day can be trusted. A board without a battery clock starts in the past.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum UtcQuality : byte
{
    Unknown = 0,

    /// <summary>Whatever the board's clock said; nobody had set it since boot.</summary>
    Unsynchronised = 1,

    /// <summary>The system's clock was synchronised when it was read.</summary>
    Synchronised = 2,

    /// <summary>Never stored: worked out on reading, from a later moment of the same boot at which the clock was synchronised.</summary>
    Derived = 3,
}
