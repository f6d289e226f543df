using System.IO.Ports;

namespace Supervisor.Bus.Links;

/// <summary>A serial port by System.IO.Ports, for systems other than Linux.</summary>
/// <remarks>It allocates on every read, and on Linux neither tells an unplugged device nor takes every rate: there <see cref="LinuxSerialLink"/> is used.</remarks>
public sealed class SerialPortLink : ILink
{
    private readonly SerialPort _port;
    private readonly IMonotonicClock _clock;
    private readonly byte[] _scratch = new byte[4096];

    private SerialPortLink(SerialPort port, IMonotonicClock clock)
    {
        _port = port;
        _clock = clock;
    }

    /// <summary>Opens a port by its name (<c>COM3</c>, <c>/dev/tty.usbserial-1</c>).</summary>
    /// <param name="device">Name of the port.</param>
    /// <param name="line">Rate, parity and stop bits.</param>
    /// <param name="clock">The clock the deadlines are on.</param>
    public static LinkOpening Open(string device, LineSettings line, IMonotonicClock clock)
    {
        ArgumentException.ThrowIfNullOrEmpty(device);
        ArgumentNullException.ThrowIfNull(line);
        ArgumentNullException.ThrowIfNull(clock);
        if (line.Rs485 is not null)
        {
            return LinkOpening.Failed(OpenFailure.Unsupported, $"{device}: the RS-485 direction is switched by the driver on Linux only; leave rs485 out of the machine file where the adapter switches by itself");
        }

        var port = new SerialPort(device, line.Baud, ParityOf(line.Parity), 8, line.StopBits == 2 ? StopBits.Two : StopBits.One);
        try
        {
            port.Open();
            port.DiscardInBuffer();
            return LinkOpening.Opened(new SerialPortLink(port, clock));
        }
        catch (Exception e) when (IsDeviceTrouble(e) || e is ArgumentException)
        {
            port.Dispose();
            return Failure(device, e);
        }
    }

    /// <inheritdoc/>
    public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
    {
        try
        {
            while (!bytes.IsEmpty)
            {
                var count = Math.Min(bytes.Length, _scratch.Length);
                bytes[..count].CopyTo(_scratch);
                _port.WriteTimeout = Left(deadline);
                _port.Write(_scratch, 0, count);
                bytes = bytes[count..];
            }

            return LinkStatus.Ok;
        }
        catch (TimeoutException)
        {
            return LinkStatus.TimedOut;
        }
        catch (Exception e) when (IsDeviceTrouble(e))
        {
            return LinkStatus.Gone;
        }
    }

    /// <inheritdoc/>
    public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
    {
        ArgumentOutOfRangeException.ThrowIfZero(into.Length, nameof(into));
        count = 0;
        try
        {
            if (_port.BytesToRead == 0 && deadline <= _clock.Now)
            {
                return LinkStatus.TimedOut;
            }

            _port.ReadTimeout = Left(deadline);
            count = _port.Read(_scratch, 0, Math.Min(into.Length, _scratch.Length));
            _scratch.AsSpan(0, count).CopyTo(into);
            return count > 0 ? LinkStatus.Ok : LinkStatus.Gone;
        }
        catch (TimeoutException)
        {
            return LinkStatus.TimedOut;
        }
        catch (Exception e) when (IsDeviceTrouble(e))
        {
            return LinkStatus.Gone;
        }
    }

    /// <inheritdoc/>
    public LinkStatus DiscardInput()
    {
        try
        {
            _port.DiscardInBuffer();
            return LinkStatus.Ok;
        }
        catch (Exception e) when (IsDeviceTrouble(e))
        {
            return LinkStatus.Gone;
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        try
        {
            // Closing the port first can hang for ever when a write followed an unplug.
            if (_port.IsOpen)
            {
                _port.BaseStream.Dispose();
            }
        }
        catch (Exception e) when (IsDeviceTrouble(e))
        {
            // The device is gone; there is nothing left to close properly.
        }

        _port.Dispose();
    }

    private static bool IsDeviceTrouble(Exception e) => e is IOException or UnauthorizedAccessException or InvalidOperationException;

    private static Parity ParityOf(LineParity parity) => parity switch
    {
        LineParity.Even => Parity.Even,
        LineParity.Odd => Parity.Odd,
        _ => Parity.None,
    };

    private static LinkOpening Failure(string device, Exception e) => e switch
    {
        // Every failure to open comes as "unauthorized"; the inner one tells.
        UnauthorizedAccessException { InnerException: FileNotFoundException or DirectoryNotFoundException } or FileNotFoundException
            => LinkOpening.NoSuchDevice(device),
        UnauthorizedAccessException { InnerException: IOException inner } when inner.HResult != 0 && inner.Message.Contains("No such file", StringComparison.Ordinal)
            => LinkOpening.NoSuchDevice(device),
        UnauthorizedAccessException
            => LinkOpening.Failed(OpenFailure.Busy, $"{device}: access denied: held by another process, or the user may not open it"),
        ArgumentException => LinkOpening.Failed(OpenFailure.SettingsRefused, $"{device}: {e.Message}"),
        _ => LinkOpening.Failed(OpenFailure.DeviceError, $"{device}: {e.Message}"),
    };

    /// <summary>Whole milliseconds to the deadline, at least 1: the port takes no shorter time-out.</summary>
    private int Left(TimeSpan deadline) => (int)Math.Clamp(Math.Ceiling((deadline - _clock.Now).TotalMilliseconds), 1, int.MaxValue);
}
