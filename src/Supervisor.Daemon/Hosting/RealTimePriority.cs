using System.Runtime.InteropServices;

namespace Supervisor.Daemon.Hosting;

/// <summary>Lets a thread run as soon as it is due, before all ordinary work, where the system permits it.</summary>
/// <remarks>Only for threads that wait most of the time and allocate nothing: a busy one would starve the board. Thread.Priority does nothing on Linux.</remarks>
internal static partial class RealTimePriority
{
    /// <summary>SCHED_FIFO, the same on all architectures.</summary>
    private const int Fifo = 1;

    /// <summary>Below the kernel's own interrupt threads (50), which bring the bytes.</summary>
    private const int Level = 30;

    /// <summary>Raises the calling thread, and the threads it makes from then on.</summary>
    /// <returns>False where it is not permitted: it takes LimitRTPRIO= in the unit, or CAP_SYS_NICE.</returns>
    public static bool TryRaiseThisThread() => OperatingSystem.IsLinux() && SetScheduler(0, Fifo, Level) == 0;

    /// <summary>The third argument points at struct sched_param, whose one member is the priority.</summary>
    [LibraryImport("libc", EntryPoint = "sched_setscheduler")]
    private static partial int SetScheduler(int thread, int policy, in int priority);
}
