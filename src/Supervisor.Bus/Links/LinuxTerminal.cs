using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Microsoft.Win32.SafeHandles;

namespace Supervisor.Bus.Links;

/// <summary>Opens a serial device and sets it up: for us alone, raw, at any baud rate.</summary>
[SupportedOSPlatform("linux")]
internal static class LinuxTerminal
{
    private const uint IGNBRK = 0x1;
    private const uint INPCK = 0x10;
    private const uint CBAUD = 0x100F;
    private const uint BOTHER = 0x1000;
    private const uint CSIZE = 0x30;
    private const uint CS8 = 0x30;
    private const uint CSTOPB = 0x40;
    private const uint CREAD = 0x80;
    private const uint PARENB = 0x100;
    private const uint PARODD = 0x200;
    private const uint HUPCL = 0x400;
    private const uint CLOCAL = 0x800;
    private const uint CIBAUD = 0x100F0000;
    private const uint CMSPAR = 0x40000000;
    private const uint CRTSCTS = 0x80000000;
    private const int VTIME = 5;
    private const int VMIN = 6;

    /// <summary>
    /// Greatest relative deviation of the rate an adapter makes from the rate asked. A receiver samples the last of eleven bits half a bit from its
    /// edge, so that both ends together may be off by less than 1/22; half of that to each: 2 %, common practice.
    /// </summary>
    private const double BaudTolerance = 0.02;

    /// <summary>Opens and sets up. On failure nothing stays open.</summary>
    public static (SafeFileHandle? Descriptor, LinkOpening Failure) Open(string device, LineSettings line)
    {
        if (!LinuxNative.IsKnownArchitecture)
        {
            return (null, LinkOpening.Failed(OpenFailure.Unsupported, $"{device}: serial ports are not supported on {RuntimeInformation.ProcessArchitecture}"));
        }

        var number = OpenDevice(device);
        if (number < 0)
        {
            return (null, FromErrno(device, Marshal.GetLastPInvokeError()));
        }

        var descriptor = new SafeFileHandle(number, ownsHandle: true);
        var failure = SetUp(descriptor, number, device, line);
        if (failure is { } why)
        {
            descriptor.Dispose();
            return (null, why);
        }

        return (descriptor, default);
    }

    /// <summary>What an error number of open or a tty request means to whoever installs the machine.</summary>
    internal static LinkOpening FromErrno(string device, int errno) => errno switch
    {
        LinuxNative.ENOENT or LinuxNative.ENODEV or LinuxNative.ENXIO or LinuxNative.ENOTDIR => LinkOpening.NoSuchDevice(device),
        LinuxNative.EACCES or LinuxNative.EPERM => LinkOpening.PermissionDenied(device),
        LinuxNative.EBUSY => LinkOpening.Busy(device),
        LinuxNative.ENOTTY or LinuxNative.EISDIR => LinkOpening.NotATerminal(device),
        LinuxNative.EIO => LinkOpening.Failed(OpenFailure.DeviceError, $"{device}: the device does not work (input/output error); unplug it and plug it in again"),
        _ => LinkOpening.Failed(OpenFailure.DeviceError, $"{device}: {Marshal.GetPInvokeErrorMessage(errno)} (errno {errno})"),
    };

    private static int OpenDevice(string device)
    {
        int number;
        do
        {
            // O_NONBLOCK: an open that waits for a carrier would hang for ever. O_NOCTTY: a hang-up must not kill the process.
            number = LinuxNative.Open(device, LinuxNative.O_RDWR | LinuxNative.O_NOCTTY | LinuxNative.O_NONBLOCK | LinuxNative.O_CLOEXEC);
        }
        while (number < 0 && Marshal.GetLastPInvokeError() == LinuxNative.EINTR);

        return number;
    }

    private static LinkOpening? SetUp(SafeFileHandle descriptor, int number, string device, LineSettings line)
    {
        LinuxNative.Termios2 settings = default;
        if (LinuxNative.Ioctl(descriptor, LinuxNative.TCGETS2, ref settings) != 0)
        {
            return FromErrno(device, Marshal.GetLastPInvokeError());
        }

        // TIOCEXCL does not stop root, flock does not stop who does not ask: both.
        if (LinuxNative.Flock(descriptor, LinuxNative.LOCK_EX | LinuxNative.LOCK_NB) != 0 && Marshal.GetLastPInvokeError() == LinuxNative.EAGAIN)
        {
            return LinkOpening.Busy(device);
        }

        // A pseudo-terminal stays exclusive after its holder was killed, for as long as its other side lives: nobody but root could reopen it.
        var pseudo = IsPseudoTerminal(number);
        if (!pseudo && LinuxNative.Ioctl(descriptor, LinuxNative.TIOCEXCL, 0) != 0)
        {
            return FromErrno(device, Marshal.GetLastPInvokeError());
        }

        return Apply(descriptor, device, line, settings, pseudo);
    }

    private static LinkOpening? Apply(SafeFileHandle descriptor, string device, LineSettings line, LinuxNative.Termios2 settings, bool pseudo)
    {
        MakeRaw(ref settings, line);
        var wanted = settings.ControlFlags;
        if (LinuxNative.Ioctl(descriptor, LinuxNative.TCSETS2, ref settings) != 0)
        {
            var errno = Marshal.GetLastPInvokeError();
            return errno == LinuxNative.EINVAL ? Refused(device, line, "") : FromErrno(device, errno);
        }

        // Drivers change what they can't do and say nothing.
        if (LinuxNative.Ioctl(descriptor, LinuxNative.TCGETS2, ref settings) != 0)
        {
            return FromErrno(device, Marshal.GetLastPInvokeError());
        }

        if (Difference(line, wanted, settings, pseudo) is { } difference)
        {
            return Refused(device, line, difference);
        }

        if (line.Rs485 is { } rs485 && LinuxRs485.Apply(descriptor, device, rs485) is { } failure)
        {
            return failure;
        }

        _ = LinuxNative.Ioctl(descriptor, LinuxNative.TCFLSH, LinuxNative.TCIOFLUSH);
        return null;
    }

    /// <summary>What the driver took otherwise than asked; null when nothing that matters.</summary>
    /// <param name="line">What is asked.</param>
    /// <param name="wanted">Control flags as they were set.</param>
    /// <param name="taken">Settings as they read back.</param>
    /// <param name="pseudo">A pseudo-terminal has no wire, so it has neither parity nor stop bits.</param>
    internal static string? Difference(LineSettings line, uint wanted, in LinuxNative.Termios2 taken, bool pseudo)
    {
        if (Math.Abs((double)taken.OutputSpeed - line.Baud) > BaudTolerance * line.Baud)
        {
            return $"; it took {taken.OutputSpeed} baud, more than {BaudTolerance * 100:0} % off; give a rate that it makes, or use another adapter";
        }

        const uint character = CSIZE | CSTOPB | PARENB | PARODD | CMSPAR;
        if (pseudo || (taken.ControlFlags & character) == (wanted & character))
        {
            return null;
        }

        var parity = (taken.ControlFlags & PARENB) == 0 ? LineParity.None : (taken.ControlFlags & PARODD) == 0 ? LineParity.Even : LineParity.Odd;
        var bits = 5 + ((taken.ControlFlags & CSIZE) >> 4);
        return $"; it took {bits} bits, parity {parity}, {((taken.ControlFlags & CSTOPB) == 0 ? 1 : 2)} stop bits; give those where the drives can be set so, or use another adapter";
    }

    private static unsafe void MakeRaw(ref LinuxNative.Termios2 settings, LineSettings line)
    {
        var parity = line.Parity switch
        {
            LineParity.Even => PARENB,
            LineParity.Odd => PARENB | PARODD,
            _ => 0u,
        };
        // HUPCL is cleared so that closing does not drop DTR, which resets some adapters and drives.
        const uint cleared = CBAUD | CIBAUD | CSIZE | CSTOPB | PARENB | PARODD | HUPCL | CMSPAR | CRTSCTS;
        settings.ControlFlags = (settings.ControlFlags & ~cleared) | BOTHER | CS8 | CREAD | CLOCAL | parity | (line.StopBits == 2 ? CSTOPB : 0);
        // A character with a parity error is read as 0: the CRC finds it.
        settings.InputFlags = IGNBRK | (parity != 0 ? INPCK : 0);
        settings.OutputFlags = 0;
        settings.LocalFlags = 0;
        settings.Discipline = 0;
        settings.InputSpeed = (uint)line.Baud;
        settings.OutputSpeed = (uint)line.Baud;
        // With VMIN 1 a read that finds nothing says EAGAIN, so that 0 bytes can only mean a hang-up.
        settings.ControlCharacters[VMIN] = 1;
        settings.ControlCharacters[VTIME] = 0;
    }

    private static bool IsPseudoTerminal(int number) =>
        new FileInfo($"/proc/self/fd/{number}").LinkTarget?.StartsWith("/dev/pts/", StringComparison.Ordinal) ?? false;

    private static LinkOpening Refused(string device, LineSettings line, string detail) => LinkOpening.Failed(
        OpenFailure.SettingsRefused, $"{device}: does not take {line.Baud} baud, parity {line.Parity}, {line.StopBits} stop bits{detail}");
}
