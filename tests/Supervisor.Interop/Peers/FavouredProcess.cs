using System.Globalization;
using System.Runtime.InteropServices;
using Supervisor.Interop.Peers;

[assembly: AssemblyFixture(typeof(FavouredProcess))]

namespace Supervisor.Interop.Peers;

/// <summary>
/// Gives these tests and the programs they start their turn first, where the system permits it: a drive is hardware, a line is a wire, and neither
/// waits for another test project to compile something.
/// </summary>
public sealed partial class FavouredProcess
{
    private const int Favoured = -10;

    /// <summary>SCHED_FIFO.</summary>
    private const int Fifo = 1;

    private const int FifoLevel = 30;

    /// <summary>PRIO_PROCESS with a thread's number means that thread (setpriority(2), differences to the standard).</summary>
    private const int OneThread = 0;

    public FavouredProcess()
    {
        if (OperatingSystem.IsLinux())
        {
            foreach (var thread in Directory.EnumerateDirectories("/proc/self/task"))
            {
                // Not permitted, or gone: then it stays ordinary. Threads and processes to come inherit it.
                _ = SetPriority(OneThread, int.Parse(Path.GetFileName(thread), CultureInfo.InvariantCulture), Favoured);
            }
        }
    }

    /// <summary>Lets the calling thread run as soon as it is due, where that is permitted: for threads that wait most of the time.</summary>
    internal static void RaiseThisThread()
    {
        if (OperatingSystem.IsLinux())
        {
            _ = SetScheduler(0, Fifo, FifoLevel);
        }
    }

    /// <summary>The third argument points at struct sched_param, whose one member is the priority.</summary>
    [LibraryImport("libc", EntryPoint = "sched_setscheduler")]
    private static partial int SetScheduler(int thread, int policy, in int priority);

    [LibraryImport("libc", EntryPoint = "setpriority")]
    private static partial int SetPriority(int which, int who, int nice);
}
