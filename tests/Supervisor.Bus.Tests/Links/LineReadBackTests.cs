using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Links;

/// <summary>What drivers take otherwise than asked. No adapter that rounds or switches RS-485 is to be had here: what they would read back is given by hand.</summary>
[SupportedOSPlatform("linux")]
public sealed class LineReadBackTests
{
    // asm-generic/termbits.h.
    private const uint CS7 = 0x20;
    private const uint CS8 = 0x30;
    private const uint CSTOPB = 0x40;
    private const uint PARENB = 0x100;
    private const uint PARODD = 0x200;

    private static readonly Rs485Settings High = new(true, TimeSpan.Zero, TimeSpan.Zero);

    [Theory]
    [InlineData(115200, 115200, true)]
    [InlineData(115200, 115384, true)]
    [InlineData(250000, 245001, true)]
    [InlineData(250000, 244999, false)]
    [InlineData(250000, 255001, false)]
    [InlineData(1000000, 921600, false)]
    [InlineData(250000, 230400, false)]
    public void Rate_RoundedByTheAdapter_IsRefusedBeyondTwoPercentAndSaysWhatItTook(int asked, uint taken, bool isGood)
    {
        var difference = LinuxTerminal.Difference(Lines.Usual with { Baud = asked }, CS8, new LinuxNative.Termios2 { ControlFlags = CS8, OutputSpeed = taken }, pseudo: false);
        Assert.Equal(isGood, difference is null);
        Assert.True(isGood || difference!.Contains($"{taken} baud", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData(CS8, CS8, true)]
    [InlineData(CS8 | PARENB, CS8, false)]
    [InlineData(CS8 | PARENB | PARODD, CS8 | PARENB, false)]
    [InlineData(CS8 | CSTOPB, CS8, false)]
    [InlineData(CS8, CS7, false)]
    public void Character_TakenOtherwise_IsRefused(uint wanted, uint taken, bool isGood)
    {
        var settings = new LinuxNative.Termios2 { ControlFlags = taken, OutputSpeed = (uint)Lines.Usual.Baud };
        Assert.Equal(isGood, LinuxTerminal.Difference(Lines.Usual, wanted, settings, pseudo: false) is null);

        // A pseudo-terminal has no wire.
        Assert.Null(LinuxTerminal.Difference(Lines.Usual, wanted, settings, pseudo: true));
    }

    [Theory]
    [InlineData(LinuxRs485.Enabled | LinuxRs485.RtsOnSend, 0u, 0u, "")]
    [InlineData(LinuxRs485.Enabled | LinuxRs485.RtsOnSend | (1 << 5), 0u, 0u, "")] // a termination of the board's description
    [InlineData(0u, 0u, 0u, "did not switch")]
    [InlineData(LinuxRs485.RtsOnSend, 0u, 0u, "did not switch")]
    [InlineData(LinuxRs485.Enabled | LinuxRs485.RtsAfterSend, 0u, 0u, "low while sending and high after")]
    [InlineData(LinuxRs485.Enabled | LinuxRs485.RtsOnSend | LinuxRs485.RtsAfterSend, 0u, 0u, "high while sending and high after")]
    [InlineData(LinuxRs485.Enabled | LinuxRs485.RtsOnSend | LinuxRs485.ReceivesOwn, 0u, 0u, "listens while it sends")]
    [InlineData(LinuxRs485.Enabled | LinuxRs485.RtsOnSend, 3u, 0u, "3 ms")]
    [InlineData(LinuxRs485.Enabled | LinuxRs485.RtsOnSend, 0u, 1u, "1 ms")]
    public void Rs485_TakenOtherwise_SaysWhatTheDriverTook(uint flags, uint beforeMs, uint afterMs, string saying)
    {
        var difference = LinuxRs485.Difference(High, new LinuxNative.SerialRs485 { Flags = flags, DelayBeforeSend = beforeMs, DelayAfterSend = afterMs });
        Assert.Equal(saying.Length == 0, difference is null);
        Assert.True(difference is null || difference.Contains(saying, StringComparison.Ordinal), difference);
    }

    [Fact]
    public void Rs485_DelaysTakenAsAsked_AreGoodEitherWayRound()
    {
        var low = new Rs485Settings(false, TimeSpan.FromMilliseconds(2), TimeSpan.FromMilliseconds(5));
        Assert.Null(LinuxRs485.Difference(low, new LinuxNative.SerialRs485 { Flags = LinuxRs485.FlagsOf(low), DelayBeforeSend = 2, DelayAfterSend = 5 }));
        Assert.NotNull(LinuxRs485.Difference(low, new LinuxNative.SerialRs485 { Flags = LinuxRs485.FlagsOf(low), DelayBeforeSend = 0, DelayAfterSend = 5 }));
    }

    [Fact]
    public void Open_Rs485WhereTheDriverHasNone_SaysWhatToDoAndLeavesNothingOpen()
    {
        // A pseudo-terminal has none: the kernel says ENOTTY, as drivers without it do.
        using var line = PseudoTerminal.Open();
        var opening = LinuxSerialLink.Open(line.Device, Lines.Usual with { Rs485 = High });
        Assert.Equal(OpenFailure.SettingsRefused, opening.Failure);
        Assert.Contains("leave rs485 out of the machine file", opening.Reason, StringComparison.Ordinal);
        using var link = LinuxSerialLink.Open(line.Device, Lines.Usual).Link;
        Assert.NotNull(link);
    }

    [Fact]
    public void Rs485_Struct_IsAsLongAsTheKernels()
    {
        // linux/serial.h: three words and five of padding.
        Assert.Equal(32, Marshal.SizeOf<LinuxNative.SerialRs485>());
        Assert.Equal(44, Marshal.SizeOf<LinuxNative.Termios2>());
    }

    [Fact]
    public void SendDelay_OfADriverThatSwitchesTheDirection_IsPartOfTheRequestsTime()
    {
        var line = Lines.Usual with { Rs485 = new Rs485Settings(true, TimeSpan.FromMilliseconds(4), TimeSpan.Zero) };
        Assert.Equal(TimeSpan.FromMilliseconds(4), Deadline(line) - Deadline(Lines.Usual));
    }

    [Theory]
    [InlineData("/dev/ttyUSB0", true)]
    [InlineData("/dev/ttyACM12", true)]
    [InlineData("/dev/ttyUSB", false)]
    [InlineData("/dev/ttyUSBx", false)]
    [InlineData("/dev/ttyS0", false)]
    [InlineData("/dev/ttyAMA0", false)]
    [InlineData("/dev/serial/by-path/platform-1", false)]
    [InlineData("/dev/line-a", false)]
    public void PassingName_IsOneGivenInTheOrderOfPluggingIn(string device, bool isPassing) => Assert.Equal(isPassing, SerialAdapter.IsPassingName(device));

    [Fact]
    public void LatencyTimer_IsReadThroughAStableName()
    {
        var root = Directory.CreateTempSubdirectory("adapter-");
        try
        {
            var node = Path.Combine(root.FullName, "ttyUSB3");
            File.WriteAllText(node, "");
            var stable = Path.Combine(root.FullName, "left");
            File.CreateSymbolicLink(stable, node);
            Assert.Null(SerialAdapter.LatencyTimer(stable, root.FullName));
            var folder = Directory.CreateDirectory(Path.Combine(root.FullName, "class", "tty", "ttyUSB3", "device"));
            File.WriteAllText(Path.Combine(folder.FullName, "latency_timer"), "16\n");
            Assert.Equal(TimeSpan.FromMilliseconds(16), SerialAdapter.LatencyTimer(stable, root.FullName));
            Assert.Equal(node, SerialAdapter.Node(stable));
            File.Delete(node);
            Assert.Null(SerialAdapter.Node(stable));
            Assert.Null(SerialAdapter.LatencyTimer(stable, root.FullName));
        }
        finally
        {
            root.Delete(recursive: true);
        }
    }

    /// <summary>Until when a reply is waited for after a request that the link took at once at the time 1 s.</summary>
    private static TimeSpan Deadline(LineSettings line)
    {
        var now = TimeSpan.FromSeconds(1);
        var master = new RtuMaster(line);
        var transaction = GoldenFrames.Transaction(GoldenFrames.ReadHoldingRequest);
        transaction.ReplyTimeout = TimeSpan.FromMilliseconds(10);
        master.Begin(transaction, now);
        master.Discarded(0, now);
        master.Sent(now, now);
        return master.Next(now).Until;
    }
}
