namespace Supervisor.Bus;

/// <summary>The monotonic clock of the system the program runs on.</summary>
public static class MonotonicClock
{
    /// <summary>CLOCK_MONOTONIC on Linux, the runtime's counter elsewhere.</summary>
    public static IMonotonicClock System { get; } = OperatingSystem.IsLinux() ? new LinuxMonotonicClock() : new PortableMonotonicClock();
}
