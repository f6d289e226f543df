using System.ComponentModel;
using System.Runtime.InteropServices;
using System.Runtime.Versioning;

namespace Supervisor.Benchmarks.Peers;

/// <summary>Processor time of this process, all its threads, in user and system mode: the same call that the C programs make (getrusage(2)).</summary>
[SupportedOSPlatform("linux")]
internal static partial class ProcessorTime
{
    private const int Self = 0;

    // struct rusage: two times, then fourteen counts that are not looked at.
    private const int Counts = 14;

    public static TimeSpan Used
    {
        get
        {
            if (GetUsage(Self, out var usage) != 0)
            {
                throw new Win32Exception(Marshal.GetLastPInvokeError());
            }

            return TimeSpan.FromSeconds(usage.UserSeconds + usage.SystemSeconds) + TimeSpan.FromMicroseconds(usage.UserMicroseconds + usage.SystemMicroseconds);
        }
    }

    [LibraryImport("libc", EntryPoint = "getrusage", SetLastError = true)]
    private static partial int GetUsage(int who, out Usage usage);

    [StructLayout(LayoutKind.Sequential)]
    private unsafe struct Usage
    {
        public nint UserSeconds;
        public nint UserMicroseconds;
        public nint SystemSeconds;
        public nint SystemMicroseconds;
        public fixed long Rest[Counts];
    }
}
