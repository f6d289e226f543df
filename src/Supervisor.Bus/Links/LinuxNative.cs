using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Microsoft.Win32.SafeHandles;

namespace Supervisor.Bus.Links;

/// <summary>System calls of Linux and their constants.</summary>
/// <remarks>
/// The values are those of the kernel's generic headers, which x86 and ARM share (O_RDWR, O_NOCTTY, O_NONBLOCK, O_CLOEXEC, the tty requests,
/// errno, bits of poll and epoll); MIPS, PowerPC and SPARC have others and are refused by <see cref="IsKnownArchitecture"/>. Tried on x64; arm64 and 32-bit ARM
/// by reading the headers only. <c>long</c> and <c>time_t</c> of the plain symbols are as wide as a pointer on all three.
/// </remarks>
[SupportedOSPlatform("linux")]
internal static partial class LinuxNative
{
    public const int ClockMonotonic = 1;
    public const int TimerAbsolute = 1;

    public const int O_RDWR = 0x2;
    public const int O_NOCTTY = 0x100;
    public const int O_NONBLOCK = 0x800;
    public const int O_CLOEXEC = 0x80000;

    public const int EPERM = 1;
    public const int ENOENT = 2;
    public const int EINTR = 4;
    public const int EIO = 5;
    public const int ENXIO = 6;
    public const int EAGAIN = 11;
    public const int EACCES = 13;
    public const int EBUSY = 16;
    public const int ENODEV = 19;
    public const int ENOTDIR = 20;
    public const int EISDIR = 21;
    public const int EINVAL = 22;
    public const int ENOTTY = 25;
    public const int ENOSYS = 38;
    public const int EOPNOTSUPP = 95;

    public const short POLLIN = 0x1;

    public const uint EPOLLIN = 0x1;
    public const uint EPOLLERR = 0x8;
    public const uint EPOLLHUP = 0x10;
    public const uint EPOLLET = 0x80000000;
    public const int EPOLL_CTL_ADD = 1;

    /// <summary>Linux 5.11; system calls that new have one number on all architectures (asm-generic/unistd.h).</summary>
    public const nint SYS_epoll_pwait2 = 441;

    /// <summary><c>struct epoll_event</c> is 12 bytes on x86-64 and 16 elsewhere, its events first; what follows them is not used.</summary>
    public const int EpollEventWords = 4;

    public const int LOCK_EX = 2;
    public const int LOCK_NB = 4;

    public const nuint TCFLSH = 0x540B;
    public const nuint TIOCEXCL = 0x540C;
    public const nuint TCGETS2 = 0x802C542A;
    public const nuint TCSETS2 = 0x402C542B;
    public const nuint TIOCGRS485 = 0x542E;
    public const nuint TIOCSRS485 = 0x542F;
    public const nint TCIFLUSH = 0;
    public const nint TCIOFLUSH = 2;

    /// <summary>True where the constants above hold.</summary>
    public static bool IsKnownArchitecture =>
        RuntimeInformation.ProcessArchitecture is Architecture.X64 or Architecture.X86 or Architecture.Arm64 or Architecture.Arm;

    [LibraryImport("libc", EntryPoint = "open", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    public static partial int Open(string path, int flags);

    [LibraryImport("libc", EntryPoint = "read", SetLastError = true)]
    public static unsafe partial nint Read(SafeFileHandle descriptor, byte* into, nuint count);

    [LibraryImport("libc", EntryPoint = "write", SetLastError = true)]
    public static unsafe partial nint Write(SafeFileHandle descriptor, byte* from, nuint count);

    [LibraryImport("libc", EntryPoint = "ppoll", SetLastError = true)]
    public static unsafe partial int PPoll(PollDescriptor* descriptors, nuint count, TimeSpec* timeout, nint signalMask);

    [LibraryImport("libc", EntryPoint = "epoll_create1", SetLastError = true)]
    public static partial int EpollCreate(int flags);

    [LibraryImport("libc", EntryPoint = "epoll_ctl", SetLastError = true)]
    public static unsafe partial int EpollControl(SafeFileHandle epoll, int operation, SafeFileHandle descriptor, uint* events);

    [LibraryImport("libc", EntryPoint = "epoll_wait", SetLastError = true)]
    public static unsafe partial int EpollWait(SafeFileHandle epoll, uint* events, int most, int timeoutMs);

    /// <summary>For epoll_pwait2, which C libraries have later than the kernel.</summary>
    [LibraryImport("libc", EntryPoint = "syscall", SetLastError = true)]
    public static unsafe partial nint SystemCall(nint number, nint epoll, uint* events, nint most, KernelTimeSpec* timeout, nint mask, nint maskBytes);

    [LibraryImport("libc", EntryPoint = "ioctl", SetLastError = true)]
    public static partial int Ioctl(SafeFileHandle descriptor, nuint request, nint argument);

    [LibraryImport("libc", EntryPoint = "ioctl", SetLastError = true)]
    public static partial int Ioctl(SafeFileHandle descriptor, nuint request, ref Termios2 settings);

    [LibraryImport("libc", EntryPoint = "ioctl", SetLastError = true)]
    public static partial int Ioctl(SafeFileHandle descriptor, nuint request, ref SerialRs485 settings);

    [LibraryImport("libc", EntryPoint = "flock", SetLastError = true)]
    public static partial int Flock(SafeFileHandle descriptor, int operation);

    /// <summary>Reads shared memory where the computer has a good clock, never waits, and is called some ten times an exchange: it pays to spare the runtime's bookkeeping.</summary>
    [LibraryImport("libc", EntryPoint = "clock_gettime")]
    [SuppressGCTransition]
    public static partial int ClockGetTime(int clock, out TimeSpec time);

    /// <summary>Returns the error number itself, not −1.</summary>
    [LibraryImport("libc", EntryPoint = "clock_nanosleep")]
    public static partial int ClockNanosleep(int clock, int flags, in TimeSpec until, nint remaining);

    [StructLayout(LayoutKind.Sequential)]
    public struct TimeSpec
    {
        public nint Seconds;
        public nint Nanoseconds;

        /// <summary>A time that is not negative; what is too long for the type becomes its longest.</summary>
        public static TimeSpec From(TimeSpan time)
        {
            var ticks = Math.Max(time.Ticks, 0);
            return new TimeSpec
            {
                Seconds = nint.CreateSaturating(ticks / TimeSpan.TicksPerSecond),
                Nanoseconds = (nint)(ticks % TimeSpan.TicksPerSecond * 100),
            };
        }

        public readonly TimeSpan ToTimeSpan() => new((Seconds * TimeSpan.TicksPerSecond) + (Nanoseconds / 100));
    }

    /// <summary>The kernel's own <c>struct __kernel_timespec</c>: 64 bits each on all architectures (linux/time_types.h).</summary>
    [StructLayout(LayoutKind.Sequential)]
    public struct KernelTimeSpec
    {
        public long Seconds;
        public long Nanoseconds;

        /// <summary>A time that is not negative.</summary>
        public static KernelTimeSpec From(TimeSpan time) => new()
        {
            Seconds = time.Ticks / TimeSpan.TicksPerSecond,
            Nanoseconds = time.Ticks % TimeSpan.TicksPerSecond * 100,
        };
    }

    [StructLayout(LayoutKind.Sequential)]
    public struct PollDescriptor
    {
        public int Descriptor;
        public short Events;
        public short Happened;
    }

    /// <summary>The kernel's <c>struct serial_rs485</c>, 32 bytes (linux/serial.h); delays in milliseconds.</summary>
    [StructLayout(LayoutKind.Sequential)]
    public unsafe struct SerialRs485
    {
        public uint Flags;
        public uint DelayBeforeSend;
        public uint DelayAfterSend;
        public fixed uint Padding[5];
    }

    /// <summary>The kernel's <c>struct termios2</c>, 44 bytes: the one that takes any baud rate.</summary>
    [StructLayout(LayoutKind.Sequential)]
    public unsafe struct Termios2
    {
        public uint InputFlags;
        public uint OutputFlags;
        public uint ControlFlags;
        public uint LocalFlags;
        public byte Discipline;
        public fixed byte ControlCharacters[19];
        public uint InputSpeed;
        public uint OutputSpeed;
    }
}
