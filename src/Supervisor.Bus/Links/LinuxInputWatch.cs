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
    // Once for all: the system has no wait in nanoseconds.
    private static volatile bool _hasNoFineWait;

    private readonly SafeFileHandle _epoll;
    private readonly int _number;
    private readonly bool _isCoarse;

    private LinuxInputWatch(SafeFileHandle epoll, bool isCoarse)
    {
        _epoll = epoll;
        _number = (int)epoll.DangerousGetHandle();
        _isCoarse = isCoarse;
    }

    /// <summary>Begins to watch; what is there already counts as new.</summary>
    /// <param name="terminal">The terminal.</param>
    /// <param name="asOnAnOldSystem">Does without what Linux has since 5.11, as it does by itself where that is missing.</param>
    /// <returns>Null when the system refuses: its reason is the last error.</returns>
    public static unsafe LinuxInputWatch? Of(SafeFileHandle terminal, bool asOnAnOldSystem = false)
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
            return new LinuxInputWatch(epoll, asOnAnOldSystem);
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
        var events = stackalloc uint[LinuxNative.EpollEventWords];
        events[0] = 0;
        var ready = longest <= TimeSpan.Zero ? LinuxNative.EpollWait(_epoll, events, 1, 0) : Sleep(events, longest);
        if (ready < 0)
        {
            return Marshal.GetLastPInvokeError() == LinuxNative.EINTR ? InputSight.None : InputSight.Broken;
        }

        return (events[0] & (LinuxNative.EPOLLHUP | LinuxNative.EPOLLERR)) != 0 ? InputSight.HungUp
            : events[0] != 0 ? InputSight.Input : InputSight.None;
    }

    public void Dispose() => _epoll.Dispose();

    /// <summary>As epoll_wait, which counts in milliseconds: by its finer form, or by poll on the epoll where the system has none.</summary>
    private unsafe int Sleep(uint* events, TimeSpan longest)
    {
        if (!_isCoarse && !_hasNoFineWait)
        {
            var fine = LinuxNative.KernelTimeSpec.From(longest);
            var happened = (int)LinuxNative.SystemCall(LinuxNative.SYS_epoll_pwait2, _number, events, 1, &fine, 0, 0);
            // EPERM: a sandbox that does not know it.
            if (happened >= 0 || Marshal.GetLastPInvokeError() is not (LinuxNative.ENOSYS or LinuxNative.EPERM))
            {
                return happened;
            }

            _hasNoFineWait = true;
        }

        var sleep = LinuxNative.TimeSpec.From(longest);
        var descriptor = new LinuxNative.PollDescriptor { Descriptor = _number, Events = LinuxNative.POLLIN };
        var ready = LinuxNative.PPoll(&descriptor, 1, &sleep, 0);
        return ready > 0 ? LinuxNative.EpollWait(_epoll, events, 1, 0) : ready;
    }
}
