using System.Globalization;
using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Supervisor.Bus.Links;

namespace Supervisor.Interop.Peers;

/// <summary>What the serial link passes to the kernel against the kernel's own headers, by its C compiler: <c>serial_layout.c</c> prints what they say.</summary>
[SupportedOSPlatform("linux")]
public sealed class SerialHeaderTests
{
    private static readonly Dictionary<string, ulong> Ours = new(StringComparer.Ordinal)
    {
        ["termios2"] = (ulong)Marshal.SizeOf<LinuxNative.Termios2>(),
        ["termios2.c_cflag"] = Offset<LinuxNative.Termios2>(nameof(LinuxNative.Termios2.ControlFlags)),
        ["termios2.c_cc"] = Offset<LinuxNative.Termios2>(nameof(LinuxNative.Termios2.ControlCharacters)),
        ["termios2.c_ispeed"] = Offset<LinuxNative.Termios2>(nameof(LinuxNative.Termios2.InputSpeed)),
        ["termios2.c_ospeed"] = Offset<LinuxNative.Termios2>(nameof(LinuxNative.Termios2.OutputSpeed)),
        ["serial_rs485"] = (ulong)Marshal.SizeOf<LinuxNative.SerialRs485>(),
        ["serial_rs485.delay_rts_before_send"] = Offset<LinuxNative.SerialRs485>(nameof(LinuxNative.SerialRs485.DelayBeforeSend)),
        ["serial_rs485.delay_rts_after_send"] = Offset<LinuxNative.SerialRs485>(nameof(LinuxNative.SerialRs485.DelayAfterSend)),
        ["TCGETS2"] = LinuxNative.TCGETS2,
        ["TCSETS2"] = LinuxNative.TCSETS2,
        ["TIOCEXCL"] = LinuxNative.TIOCEXCL,
        ["TIOCGRS485"] = LinuxNative.TIOCGRS485,
        ["TIOCSRS485"] = LinuxNative.TIOCSRS485,
        ["SER_RS485_ENABLED"] = LinuxRs485.Enabled,
        ["SER_RS485_RTS_ON_SEND"] = LinuxRs485.RtsOnSend,
        ["SER_RS485_RTS_AFTER_SEND"] = LinuxRs485.RtsAfterSend,
        ["SER_RS485_RX_DURING_TX"] = LinuxRs485.ReceivesOwn,
    };

    [Fact]
    public void Layout_HeadersOfThisMachine_AreOurs()
    {
        // The same package brings them.
        Peer.Require(Peer.GpioHeader);
        var folder = Directory.CreateTempSubdirectory("serial-layout-");
        try
        {
            var program = Path.Combine(folder.FullName, "layout");
            var (code, errors) = PeerProcess.Run("cc", ["-std=gnu11", "-o", program, Path.Combine(AppContext.BaseDirectory, "Peers", "Serial", "serial_layout.c")]);
            Assert.True(code == 0, errors);
            var theirs = PeerProcess.Run(program, []).Output.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(line => line.Split(' '))
                .ToDictionary(parts => parts[0], parts => ulong.Parse(parts[1], CultureInfo.InvariantCulture));
            Assert.Equal(Ours.Keys.Order(StringComparer.Ordinal), theirs.Keys.Order(StringComparer.Ordinal));
            Assert.All(theirs, pair => Assert.Equal((pair.Key, pair.Value), (pair.Key, Ours[pair.Key])));
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private static ulong Offset<T>(string member) => (ulong)Marshal.OffsetOf<T>(member);
}
