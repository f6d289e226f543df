using System.Diagnostics;

namespace Supervisor.Bus;

/// <summary>The runtime's monotonic counter, for systems other than Linux; its waits are as coarse as the system's sleep.</summary>
public sealed class PortableMonotonicClock : IMonotonicClock
{
    /// <inheritdoc/>
#pragma warning disable RS0030 // This class is one of the two places where time comes from.
    public TimeSpan Now => Stopwatch.GetElapsedTime(0, Stopwatch.GetTimestamp());
#pragma warning restore RS0030

    /// <inheritdoc/>
    public void WaitUntil(TimeSpan deadline)
    {
        for (var left = deadline - Now; left > TimeSpan.Zero; left = deadline - Now)
        {
            // Sleep takes whole milliseconds and at most what an int holds.
            var leftMs = (int)Math.Clamp(Math.Ceiling(left.TotalMilliseconds), 1, int.MaxValue);
#pragma warning disable RS0030 // This is a driver's wait.
            Thread.Sleep(leftMs);
#pragma warning restore RS0030
        }
    }
}
