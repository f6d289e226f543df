using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Supervisor.Daemon.Hosting;

namespace Supervisor.Benchmarks.Rig;

/// <summary>Runs something on a thread of its own with a port's priority, where that is permitted.</summary>
[SupportedOSPlatform("linux")]
internal static partial class RaisedThread
{
    // As many processors as the mask of the C library has bits (cpu_set_t).
    private const int MostProcessors = 1024;

    /// <param name="action">What to run.</param>
    /// <param name="pinned">
    /// On the first processor, where the C master runs too, while slaves have the last: a placement that the kernel changes at will would be measured with what is compared.
    /// </param>
    /// <exception cref="InvalidOperationException">It was broken off; within is by what.</exception>
    public static void Run(Action action, bool pinned = false)
    {
        Exception? failed = null;
        var thread = new Thread(() =>
        {
            RealTimePriority.TryRaiseThisThread();
            if (pinned)
            {
                Pin();
            }

            try
            {
                action();
            }
#pragma warning disable CA1031 // Thrown again where the thread is waited for.
            catch (Exception exception)
#pragma warning restore CA1031
            {
                failed = exception;
            }
        });
        thread.Start();
        thread.Join();
        if (failed is not null)
        {
            throw new InvalidOperationException("the run was broken off", failed);
        }
    }

    private static void Pin()
    {
        Span<ulong> allowed = stackalloc ulong[MostProcessors / 64];
        if (GetAffinity(0, MostProcessors / 8, allowed) < 0)
        {
            return;
        }

        var first = allowed.IndexOfAnyExcept(0UL);
        var lowest = allowed[first] & (~allowed[first] + 1);
        allowed.Clear();
        allowed[first] = lowest;
        _ = SetAffinity(0, MostProcessors / 8, allowed);
    }

    [LibraryImport("libc", EntryPoint = "sched_getaffinity")]
    private static partial int GetAffinity(int thread, nuint bytes, Span<ulong> mask);

    [LibraryImport("libc", EntryPoint = "sched_setaffinity")]
    private static partial int SetAffinity(int thread, nuint bytes, ReadOnlySpan<ulong> mask);
}
