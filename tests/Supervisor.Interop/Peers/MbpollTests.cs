using System.Runtime.Versioning;

namespace Supervisor.Interop.Peers;

/// <summary>Our slave against the command line master mbpoll.</summary>
[SupportedOSPlatform("linux")]
public sealed class MbpollTests
{
    [Fact]
    public void Answer_MbpollReads_ShowsOurRegisters()
    {
        Peer.Require(Peer.Mbpoll);
        using var slave = new OurSlave();
        slave.Registers[10] = 4711;
        slave.Registers[11] = 0xBEEF;

        var (code, output) = Mbpoll(slave, "-r", "10", "-c", "2", "-t", "4:hex", "-1");

        Assert.True(code == 0, output);
        Assert.Matches(@"\[10\]:\s+0x1267", output);
        Assert.Matches(@"\[11\]:\s+0xBEEF", output);
    }

    [Fact]
    public void Answer_MbpollWritesOneAndSeveral_HasThemInOurRegisters()
    {
        Peer.Require(Peer.Mbpoll);
        using var slave = new OurSlave();

        var (one, oneOutput) = Mbpoll(slave, ["-r", "5"], ["1234"]);
        var (several, severalOutput) = Mbpoll(slave, ["-r", "20"], ["1", "2", "3"]);

        Assert.True(one == 0, oneOutput);
        Assert.True(several == 0, severalOutput);
        Assert.Equal(1234, slave.Registers[5]);
        Assert.Equal([1, 2, 3], slave.Registers[20..23]);
    }

    [Fact]
    public void Answer_MbpollReadsPastTheEnd_TellsOurException()
    {
        Peer.Require(Peer.Mbpoll);
        using var slave = new OurSlave();

        var (_, output) = Mbpoll(slave, "-r", "63", "-c", "2", "-1");

        Assert.Contains("Illegal data address", output, StringComparison.Ordinal);
    }

    [Fact]
    public void Answer_MbpollAsksAnotherAddress_IsSilent()
    {
        Peer.Require(Peer.Mbpoll);
        using var slave = new OurSlave();

        var (_, output) = PeerProcess.Run("mbpoll", ["-m", "rtu", "-0", "-a", "9", "-b", "115200", "-P", "none", "-r", "0", "-c", "1", "-o", "0.2", "-1", slave.Device]);

        Assert.Contains("timed out", output, StringComparison.OrdinalIgnoreCase);
    }

    private static (int ExitCode, string Output) Mbpoll(OurSlave slave, params string[] options) => Mbpoll(slave, options, []);

    private static (int ExitCode, string Output) Mbpoll(OurSlave slave, string[] options, string[] values) =>
        PeerProcess.Run("mbpoll", ["-m", "rtu", "-0", "-a", "3", "-b", "115200", "-P", "none", "-o", "5", .. options, slave.Device, .. values]);
}
