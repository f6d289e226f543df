using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Microsoft.Win32.SafeHandles;

namespace Supervisor.Bus.Links;

/// <summary>A serial port of Linux by poll, read and write on the calling thread. Nothing is allocated per call.</summary>
/// <remarks>Deadlines are on CLOCK_MONOTONIC (<see cref="LinuxMonotonicClock"/>).</remarks>
[SupportedOSPlatform("linux")]
public sealed class LinuxSerialLink : ILink
{
    private readonly SafeFileHandle _descriptor;
    private readonly int _number;

    private LinuxSerialLink(SafeFileHandle descriptor)
    {
        _descriptor = descriptor;
        _number = (int)descriptor.DangerousGetHandle();
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
        return descriptor is null ? failure : LinkOpening.Opened(new LinuxSerialLink(descriptor));
    }

    /// <summary>A link over a descriptor that is open, set up and not blocking (O_NONBLOCK), such as the master side of a pseudo-terminal; it is closed with the link.</summary>
    public static LinuxSerialLink Over(SafeFileHandle descriptor)
    {
        ArgumentNullException.ThrowIfNull(descriptor);
        return new LinuxSerialLink(descriptor);
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

            var status = written == 0 ? LinkStatus.Ok : Trouble();
            if (status == LinkStatus.Ok)
            {
                status = Wait(LinuxNative.POLLOUT, deadline);
            }

            if (status != LinkStatus.Ok)
            {
                return status;
            }
        }

        return LinkStatus.Ok;
    }

    /// <inheritdoc/>
    public unsafe LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
    {
        ArgumentOutOfRangeException.ThrowIfZero(into.Length, nameof(into));
        count = 0;
        while (true)
        {
            var status = Wait(LinuxNative.POLLIN, deadline);
            if (status != LinkStatus.Ok)
            {
                return status;
            }

            nint read;
            fixed (byte* to = into)
            {
                read = LinuxNative.Read(_descriptor, to, (nuint)into.Length);
            }

            if (read > 0)
            {
                count = (int)read;
                return LinkStatus.Ok;
            }

            if (read == 0 || Trouble() == LinkStatus.Gone)
            {
                return LinkStatus.Gone;
            }
        }
    }

    /// <inheritdoc/>
    public LinkStatus DiscardInput() =>
        LinuxNative.Ioctl(_descriptor, LinuxNative.TCFLSH, LinuxNative.TCIFLUSH) == 0 ? LinkStatus.Ok : LinkStatus.Gone;

    /// <inheritdoc/>
    public void Dispose()
    {
        if (!_descriptor.IsClosed)
        {
            // What is still to be sent would hold up the closing of a port whose line is stuck.
            _ = LinuxNative.Ioctl(_descriptor, LinuxNative.TCFLSH, LinuxNative.TCIOFLUSH);
            _descriptor.Dispose();
        }
    }

    /// <summary>Whether the last failed call is to be tried again (Ok) or tells that the device is gone (EIO after a hang-up, and all others).</summary>
    private static LinkStatus Trouble() =>
        Marshal.GetLastPInvokeError() is LinuxNative.EAGAIN or LinuxNative.EINTR ? LinkStatus.Ok : LinkStatus.Gone;

    /// <summary>Waits until the descriptor is ready; looks once when the deadline has passed.</summary>
    private unsafe LinkStatus Wait(short events, TimeSpan deadline)
    {
        while (true)
        {
            var left = deadline - LinuxMonotonicClock.Read();
            var isAwake = left <= LinuxMonotonicClock.ShortestSleep;
            var sleep = LinuxNative.TimeSpec.From(isAwake ? TimeSpan.Zero : left);
            var descriptor = new LinuxNative.PollDescriptor { Descriptor = _number, Events = events };
            var ready = LinuxNative.PPoll(&descriptor, 1, &sleep, 0);
            if (ready == 0)
            {
                if (isAwake && left > TimeSpan.Zero)
                {
                    continue;
                }

                return LinkStatus.TimedOut;
            }

            if (ready > 0)
            {
                // Bytes that came before a hang-up are still read; then read says 0 or EIO.
                return (descriptor.Happened & events) != 0 ? LinkStatus.Ok : LinkStatus.Gone;
            }

            if (Trouble() == LinkStatus.Gone)
            {
                return LinkStatus.Gone;
            }
        }
    }
}
