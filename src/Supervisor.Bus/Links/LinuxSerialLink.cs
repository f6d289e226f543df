using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Microsoft.Win32.SafeHandles;

namespace Supervisor.Bus.Links;

/// <summary>A serial port of Linux by read and write on the calling thread, which never waits past a deadline. Nothing is allocated per call.</summary>
/// <remarks>Deadlines are on CLOCK_MONOTONIC (<see cref="LinuxMonotonicClock"/>).</remarks>
[SupportedOSPlatform("linux")]
public sealed class LinuxSerialLink : ILink
{
    /// <summary>As many as a terminal holds for its reader (N_TTY_BUF_SIZE, linux/tty.h): one read takes them all.</summary>
    private const int InputBytes = 4096;

    private static readonly TimeSpan FullPause = TimeSpan.FromMicroseconds(500);

    private readonly LinuxMonotonicClock _clock = new();
    private readonly SafeFileHandle _descriptor;
    private readonly LinuxInputWatch _watch;
    private readonly byte[] _input = new byte[InputBytes];
    private int _next;
    private int _end;

    /// <summary>The last read was as long as the room for it: there may be more, of which nothing is told anew.</summary>
    private bool _wasFull;

    /// <summary>The other side hung up, which is told once: each read finds out anew.</summary>
    private bool _isHungUp;

    private LinuxSerialLink(SafeFileHandle descriptor, LinuxInputWatch watch)
    {
        _descriptor = descriptor;
        _watch = watch;
    }

    /// <summary>Opens a device: raw, for this process alone, with what was received before thrown away.</summary>
    /// <param name="device">Its path; a stable name under <c>/dev/serial/by-path</c> is resolved at every opening.</param>
    /// <param name="line">Rate, parity and stop bits; a rate below 1 or other than 1 or 2 stop bits is a bug of the caller.</param>
    public static LinkOpening Open(string device, LineSettings line)
    {
        ArgumentException.ThrowIfNullOrEmpty(device);
        ArgumentNullException.ThrowIfNull(line);
        ArgumentOutOfRangeException.ThrowIfLessThan(line.Baud, 1, nameof(line));
        ArgumentOutOfRangeException.ThrowIfLessThan(line.StopBits, 1, nameof(line));
        ArgumentOutOfRangeException.ThrowIfGreaterThan(line.StopBits, 2, nameof(line));
        var (descriptor, failure) = LinuxTerminal.Open(device, line);
        if (descriptor is null)
        {
            return failure;
        }

        if (LinuxInputWatch.Of(descriptor) is { } watch)
        {
            return LinkOpening.Opened(new LinuxSerialLink(descriptor, watch));
        }

        var errno = Marshal.GetLastPInvokeError();
        descriptor.Dispose();
        return LinuxTerminal.FromErrno(device, errno);
    }

    /// <summary>A link over a descriptor that is open, set up and not blocking (O_NONBLOCK), such as the master side of a pseudo-terminal; it is closed with the link.</summary>
    public static LinuxSerialLink Over(SafeFileHandle descriptor)
    {
        ArgumentNullException.ThrowIfNull(descriptor);
        return new LinuxSerialLink(
            descriptor, LinuxInputWatch.Of(descriptor) ?? throw new IOException($"epoll failed: {Marshal.GetPInvokeErrorMessage(Marshal.GetLastPInvokeError())}"));
    }

    /// <inheritdoc/>
    public unsafe LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
    {
        while (!bytes.IsEmpty)
        {
            nint written;
            fixed (byte* from = bytes)
            {
                written = LinuxNative.Write(_descriptor, from, (nuint)bytes.Length);
            }

            if (written > 0)
            {
                bytes = bytes[(int)written..];
                continue;
            }

            if (written < 0 && Trouble() == LinkStatus.Gone)
            {
                return LinkStatus.Gone;
            }

            // The terminal holds some frames: it is full where the line is stuck. Tried again, as waiting by poll has no bound (LinuxInputWatch).
            var now = LinuxMonotonicClock.Read();
            if (now >= deadline)
            {
                return LinkStatus.TimedOut;
            }

            var again = now + FullPause;
            _clock.WaitUntil(again < deadline ? again : deadline);
        }

        return LinkStatus.Ok;
    }

    /// <inheritdoc/>
    public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
    {
        ArgumentOutOfRangeException.ThrowIfZero(into.Length, nameof(into));
        count = 0;
        while (_next == _end)
        {
            var status = _wasFull || _isHungUp ? TakeIn() : WaitForInput(deadline);
            if (status != LinkStatus.Ok)
            {
                return status;
            }
        }

        count = Math.Min(into.Length, _end - _next);
        _input.AsSpan(_next, count).CopyTo(into);
        _next += count;
        return LinkStatus.Ok;
    }

    /// <inheritdoc/>
    public LinkStatus DiscardInput()
    {
        _next = _end = 0;
        return LinuxNative.Ioctl(_descriptor, LinuxNative.TCFLSH, LinuxNative.TCIFLUSH) == 0 ? LinkStatus.Ok : LinkStatus.Gone;
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        if (!_descriptor.IsClosed)
        {
            _watch.Dispose();

            // What is still to be sent would hold up the closing of a port whose line is stuck.
            _ = LinuxNative.Ioctl(_descriptor, LinuxNative.TCFLSH, LinuxNative.TCIOFLUSH);
            _descriptor.Dispose();
        }
    }

    /// <summary>Whether the last failed call is to be tried again (Ok) or tells that the device is gone (EIO after a hang-up, and all others).</summary>
    private static LinkStatus Trouble() =>
        Marshal.GetLastPInvokeError() is LinuxNative.EAGAIN or LinuxNative.EINTR ? LinkStatus.Ok : LinkStatus.Gone;

    /// <summary>Waits for news of the terminal and reads; looks once when the deadline has passed.</summary>
    private LinkStatus WaitForInput(TimeSpan deadline)
    {
        while (true)
        {
            var left = deadline - LinuxMonotonicClock.Read();
            switch (_watch.Wait(left <= LinuxMonotonicClock.ShortestSleep ? TimeSpan.Zero : left))
            {
                case InputSight.Input:
                    return TakeIn();
                case InputSight.HungUp:
                    _isHungUp = true;
                    return TakeIn();
                case InputSight.Broken:
                    return LinkStatus.Gone;
                default:
                    if (left <= TimeSpan.Zero)
                    {
                        return LinkStatus.TimedOut;
                    }

                    break;
            }
        }
    }

    /// <summary>Reads all that the terminal has. Ok also when that is nothing.</summary>
    private unsafe LinkStatus TakeIn()
    {
        nint read;
        fixed (byte* to = _input)
        {
            do
            {
                read = LinuxNative.Read(_descriptor, to, InputBytes);
            }
            while (read < 0 && Marshal.GetLastPInvokeError() == LinuxNative.EINTR);
        }

        if (read == 0 || (read < 0 && Trouble() == LinkStatus.Gone))
        {
            _isHungUp = true;
            return LinkStatus.Gone;
        }

        // A pseudo-terminal's other side may come back.
        _isHungUp &= read > 0;
        _wasFull = read == InputBytes;
        (_next, _end) = (0, Math.Max((int)read, 0));
        return LinkStatus.Ok;
    }
}
