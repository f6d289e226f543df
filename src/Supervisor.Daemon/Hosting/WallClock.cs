using System.Runtime.InteropServices;
using Supervisor.Bus;
using Supervisor.History.Clocks;

namespace Supervisor.Daemon.Hosting;

/// <summary>Reads both clocks of the board, and whether the wall clock can be trusted.</summary>
internal static partial class WallClock
{
    /// <summary>Return value of adjtimex while the clock is not synchronised (adjtimex(2): TIME_ERROR).</summary>
    private const int TimeError = 5;

    /// <summary>Larger than struct timex of any C library; zeroed, its first member says "change nothing".</summary>
    private const int TimexRoom = 512;

    private const string BootIdPath = "/proc/sys/kernel/random/boot_id";

    /// <summary>Identity of this boot; where the system gives none, of this process, as times can't be compared farther then.</summary>
    public static string BootId { get; } = File.Exists(BootIdPath) ? File.ReadAllText(BootIdPath).Trim() : Guid.NewGuid().ToString();

    public static ClockReading Read() => new(MonotonicClock.System.Now, DateTimeOffset.UtcNow, Quality());

    private static UtcQuality Quality() => OperatingSystem.IsLinux() && !IsSynchronised() ? UtcQuality.Unsynchronised : UtcQuality.Synchronised;

    private static unsafe bool IsSynchronised()
    {
        var timex = stackalloc byte[TimexRoom];
        new Span<byte>(timex, TimexRoom).Clear();
        return AdjustTime(timex) is >= 0 and < TimeError;
    }

    [LibraryImport("libc", EntryPoint = "adjtimex")]
    private static unsafe partial int AdjustTime(byte* timex);
}
