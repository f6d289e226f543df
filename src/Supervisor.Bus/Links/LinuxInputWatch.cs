using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Microsoft.Win32.SafeHandles;

namespace Supervisor.Bus.Links;

/// <summary>What a wait for input came to.</summary>
internal enum InputSight
{
    /// <summary>The deadline passed.</summary>
    None = 0,

    /// <summary>Bytes have come since the last look, or may have.</summary>
    Input = 1,

    /// <summary>The other side hung up; bytes that came before may still be there.</summary>
    HungUp = 2,

    /// <summary>It can't be waited for any more.</summary>
    Broken = 3,
}

/// <summary>
/// Waits for bytes of a terminal, and no longer than told. The terminals of Linux hand bytes on by a worker thread of the kernel with ordinary priority;
/// whoever asks a terminal itself for input (poll, select, or read while nothing is there) first waits for that worker, without any bound, real-time
/// thread or not: n_tty_poll and n_tty_read call flush_work (drivers/tty/n_tty.c). A port on a busy computer was seen to stand there for more than a second, and sent no stop
/// meanwhile. An edge-triggered epoll asks the terminal only once it has said by itself that bytes are there.
/// </summary>
/// <remarks>
/// Tells what is new, once: who was told reads everything there is. One who reads more than was told of has the next wait ask in vain, for once.
/// Nothing is allocated per call.
/// </remarks>
[SupportedOSPlatform("linux")]
internal sealed class LinuxInputWatch : IDisposable
{
    private readonly SafeFileHandle _epoll;
    private readonly int _number;

    private LinuxInputWatch(SafeFileHandle epoll)
    {
        _epoll = epoll;
        _number = (int)epoll.DangerousGetHandle();
    }

    /// <summary>Begins to watch; what is there already counts as new.</summary>
    /// <returns>Null when the system refuses: its reason is the last error.</returns>
    public static unsafe LinuxInputWatch? Of(SafeFileHandle terminal)
    {
        var number = LinuxNative.EpollCreate(LinuxNative.O_CLOEXEC);
        if (number < 0)
        {
            return null;
        }

        var epoll = new SafeFileHandle(number, ownsHandle: true);
        var events = stackalloc uint[LinuxNative.EpollEventWords];
        events[0] = LinuxNative.EPOLLIN | LinuxNative.EPOLLET;
        if (LinuxNative.EpollControl(epoll, LinuxNative.EPOLL_CTL_ADD, terminal, events) == 0)
        {
            return new LinuxInputWatch(epoll);
        }

        var errno = Marshal.GetLastPInvokeError();
        epoll.Dispose();
        Marshal.SetLastPInvokeError(errno);
        return null;
    }

    /// <summary>Waits once: also a signal ends the wait.</summary>
    /// <param name="longest">How long at most; zero: looks only.</param>
    public unsafe InputSight Wait(TimeSpan longest)
    {
        // Not epoll_wait itself, which counts in milliseconds; its finer form is missing on older boards.
        var sleep = LinuxNative.TimeSpec.From(longest);
        var descriptor = new LinuxNative.PollDescriptor { Descriptor = _number, Events = LinuxNative.POLLIN };
        var ready = LinuxNative.PPoll(&descriptor, 1, &sleep, 0);
        if (ready == 0)
        {
            return InputSight.None;
        }

        var events = stackalloc uint[LinuxNative.EpollEventWords];
        events[0] = 0;
        if (ready < 0 || LinuxNative.EpollWait(_epoll, events, 1, 0) < 0)
        {
            return Marshal.GetLastPInvokeError() == LinuxNative.EINTR ? InputSight.None : InputSight.Broken;
        }

        return (events[0] & (LinuxNative.EPOLLHUP | LinuxNative.EPOLLERR)) != 0 ? InputSight.HungUp
            : events[0] != 0 ? InputSight.Input : InputSight.None;
    }

    public void Dispose() => _epoll.Dispose();
}
