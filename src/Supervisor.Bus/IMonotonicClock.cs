namespace Supervisor.Bus;

/// <summary>Time since boot. Only the drivers of step machines hold one; step machines take <c>now</c> as an argument.</summary>
public interface IMonotonicClock
{
    /// <summary>Time on CLOCK_MONOTONIC.</summary>
    TimeSpan Now { get; }

    /// <summary>Blocks the calling thread until <paramref name="deadline"/>; returns at once when it has passed.</summary>
    void WaitUntil(TimeSpan deadline);
}
