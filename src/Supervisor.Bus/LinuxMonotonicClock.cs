using System.Runtime.Versioning;
using Supervisor.Bus.Links;

namespace Supervisor.Bus;

/// <summary>CLOCK_MONOTONIC by system call. Timers of the runtime are not used: on some boards they freeze when the wall clock is set back.</summary>
[SupportedOSPlatform("linux")]
public sealed class LinuxMonotonicClock : IMonotonicClock
{
    /// <inheritdoc/>
    public TimeSpan Now => Read();

    /// <inheritdoc/>
    public void WaitUntil(TimeSpan deadline)
    {
        var until = LinuxNative.TimeSpec.From(deadline);
        int error;
        do
        {
            // The deadline is absolute: waking for a signal and sleeping again adds no drift.
            error = LinuxNative.ClockNanosleep(LinuxNative.ClockMonotonic, LinuxNative.TimerAbsolute, in until, 0);
        }
        while (error == LinuxNative.EINTR);

        if (error != 0)
        {
            throw new InvalidOperationException($"clock_nanosleep failed (errno {error}).");
        }
    }

    internal static TimeSpan Read()
    {
        if (LinuxNative.ClockGetTime(LinuxNative.ClockMonotonic, out var now) != 0)
        {
            throw new InvalidOperationException("clock_gettime(CLOCK_MONOTONIC) failed.");
        }

        return now.ToTimeSpan();
    }
}
