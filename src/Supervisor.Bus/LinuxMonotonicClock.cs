using System.Runtime.Versioning;
using Supervisor.Bus.Links;

namespace Supervisor.Bus;

/// <summary>CLOCK_MONOTONIC by system call. Timers of the runtime are not used: on some boards they freeze when the wall clock is set back.</summary>
[SupportedOSPlatform("linux")]
public sealed class LinuxMonotonicClock : IMonotonicClock
{
    /// <summary>
    /// A thread that goes to sleep and wakes is later than this: so short a time, such as the silence between frames at 1 Mbaud, is waited for awake.
    /// It takes the processor about as long as falling asleep and waking would.
    /// </summary>
    public static readonly TimeSpan ShortestSleep = TimeSpan.FromMicroseconds(50);

    /// <inheritdoc/>
    public TimeSpan Now => Read();

    /// <inheritdoc/>
    public void WaitUntil(TimeSpan deadline)
    {
        if (deadline - Read() <= ShortestSleep)
        {
            while (Read() < deadline)
            {
            }

            return;
        }

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
