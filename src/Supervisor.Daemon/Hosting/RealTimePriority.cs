using System.Globalization;
using System.Runtime.InteropServices;

namespace Supervisor.Daemon.Hosting;

/// <summary>Lets a thread run as soon as it is due, before all ordinary work, where the system permits it.</summary>
/// <remarks>Only for threads that wait most of the time and allocate nothing: a busy one would starve the board. Thread.Priority does nothing on Linux.</remarks>
internal static partial class RealTimePriority
{
    /// <summary>SCHED_FIFO, the same on all architectures.</summary>
    private const int Fifo = 1;

    /// <summary>SCHED_RESET_ON_FORK (sched(7)): threads that this one makes are ordinary again, whatever library made them.</summary>
    private const int NotInherited = 0x40000000;

    /// <summary>Below the kernel's own interrupt threads (50), which bring the bytes.</summary>
    private const int Level = 30;

    /// <summary>Ordinary, but well before what else the board does.</summary>
    private const int Favoured = -10;

    /// <summary>Ordinary, behind everything else that the process does.</summary>
    private const int Last = 10;

    /// <summary>PRIO_PROCESS with a thread's number means that thread (setpriority(2), differences to the standard).</summary>
    private const int OneThread = 0;

    /// <summary>
    /// Favours all threads of this process, and those they make, over other programs. Real-time threads still wait while the runtime
    /// collects garbage on an ordinary thread; on a busy board that one must get its turn.
    /// </summary>
    public static void FavourProcess()
    {
        if (OperatingSystem.IsLinux())
        {
            foreach (var thread in Directory.EnumerateDirectories("/proc/self/task"))
            {
                // Not permitted, or gone: then it stays ordinary.
                _ = SetPriority(OneThread, int.Parse(Path.GetFileName(thread), CultureInfo.InvariantCulture), Favoured);
            }
        }
    }

    /// <summary>Lets the calling thread run only when nothing else of the process wants to; 0 means the caller.</summary>
    public static void LowerThisThread()
    {
        if (OperatingSystem.IsLinux())
        {
            _ = SetPriority(OneThread, 0, Last);
        }
    }

    /// <summary>Raises the calling thread alone.</summary>
    /// <returns>False where it is not permitted: it takes LimitRTPRIO= in the unit, or CAP_SYS_NICE.</returns>
    public static bool TryRaiseThisThread() => OperatingSystem.IsLinux() && SetScheduler(0, Fifo | NotInherited, Level) == 0;

    /// <summary>The third argument points at struct sched_param, whose one member is the priority.</summary>
    [LibraryImport("libc", EntryPoint = "sched_setscheduler")]
    private static partial int SetScheduler(int thread, int policy, in int priority);

    [LibraryImport("libc", EntryPoint = "setpriority")]
    private static partial int SetPriority(int which, int who, int nice);
}
