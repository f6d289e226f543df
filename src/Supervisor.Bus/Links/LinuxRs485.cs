using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Microsoft.Win32.SafeHandles;

namespace Supervisor.Bus.Links;

/// <summary>Has a port's driver switch the direction of its line, and reads back what the driver made of it: drivers change what they can't do and say nothing.</summary>
[SupportedOSPlatform("linux")]
internal static class LinuxRs485
{
    // linux/serial.h.
    public const uint Enabled = 1 << 0;
    public const uint RtsOnSend = 1 << 1;
    public const uint RtsAfterSend = 1 << 2;
    public const uint ReceivesOwn = 1 << 4;

    private const uint Ours = Enabled | RtsOnSend | RtsAfterSend | ReceivesOwn;

    /// <summary>Sets it up.</summary>
    /// <returns>What is wrong; null when the driver does as asked.</returns>
    public static LinkOpening? Apply(SafeFileHandle descriptor, string device, Rs485Settings asked)
    {
        LinuxNative.SerialRs485 settings = default;
        if (LinuxNative.Ioctl(descriptor, LinuxNative.TIOCGRS485, ref settings) != 0)
        {
            return FromErrno(device, Marshal.GetLastPInvokeError());
        }

        // What is not asked for here, such as a termination, stays as the board's description has it.
        settings.Flags = (settings.Flags & ~Ours) | FlagsOf(asked);
        settings.DelayBeforeSend = (uint)asked.DelayBefore.TotalMilliseconds;
        settings.DelayAfterSend = (uint)asked.DelayAfter.TotalMilliseconds;
        if (LinuxNative.Ioctl(descriptor, LinuxNative.TIOCSRS485, ref settings) != 0
            || LinuxNative.Ioctl(descriptor, LinuxNative.TIOCGRS485, ref settings) != 0)
        {
            return FromErrno(device, Marshal.GetLastPInvokeError());
        }

        return Difference(asked, settings) is { } difference ? LinkOpening.Failed(OpenFailure.SettingsRefused, $"{device}: {difference}") : null;
    }

    internal static uint FlagsOf(Rs485Settings asked) => Enabled | (asked.SendsOnHighRts ? RtsOnSend : RtsAfterSend);

    /// <summary>What the driver took otherwise than asked, and what to do; null when nothing.</summary>
    internal static string? Difference(Rs485Settings asked, in LinuxNative.SerialRs485 taken)
    {
        if ((taken.Flags & Enabled) == 0)
        {
            return "the driver did not switch the RS-485 direction on; leave rs485 out of the machine file where the adapter switches by itself, else use another port";
        }

        var wanted = FlagsOf(asked);
        if ((taken.Flags & (RtsOnSend | RtsAfterSend)) != (wanted & (RtsOnSend | RtsAfterSend)))
        {
            var on = (taken.Flags & RtsOnSend) != 0 ? "high" : "low";
            var after = (taken.Flags & RtsAfterSend) != 0 ? "high" : "low";
            return $"asked for RTS {(asked.SendsOnHighRts ? "high while sending and low after" : "low while sending and high after")}, the driver took {on} while sending and {after} after; "
                + "change rs485.send to that where the transceiver is wired so, else use another port";
        }

        if ((taken.Flags & ReceivesOwn) != 0)
        {
            return "the driver listens while it sends, so that every request would come back before its answer; use another port";
        }

        return Delay("before", asked.DelayBefore, taken.DelayBeforeSend) ?? Delay("after", asked.DelayAfter, taken.DelayAfterSend);
    }

    /// <summary>What an error number of the two requests means.</summary>
    internal static LinkOpening FromErrno(string device, int errno) =>
        errno is LinuxNative.ENOTTY or LinuxNative.EINVAL or LinuxNative.ENOSYS or LinuxNative.EOPNOTSUPP
            ? LinkOpening.Failed(
                OpenFailure.SettingsRefused,
                $"{device}: its driver can't switch the RS-485 direction; leave rs485 out of the machine file where the adapter or transceiver switches by itself, else use a port whose driver can")
            : LinuxTerminal.FromErrno(device, errno);

    private static string? Delay(string when, TimeSpan asked, uint takenMs) => takenMs == (uint)asked.TotalMilliseconds ? null
        : $"asked for a delay of {(uint)asked.TotalMilliseconds} ms {when} sending, the driver took {takenMs} ms; give that in rs485, or use another port";
}
