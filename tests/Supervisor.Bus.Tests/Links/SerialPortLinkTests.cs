using System.Runtime.Versioning;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Links;

/// <summary>The link for other systems, run here on a pseudo-terminal.</summary>
[SupportedOSPlatform("linux")]
public sealed class SerialPortLinkTests
{
    private static readonly TimeSpan Bound = TimeSpan.FromSeconds(10);
    private readonly LinuxMonotonicClock _clock = new();

    [Fact]
    public void Run_SlaveBehindThePort_Replies()
    {
        using var line = PseudoTerminal.Open();
        using var link = Open(line);
        var slave = new RtuSlave();
        slave.Serve(1, new RegisterArray(0, 10));
        using var serving = new Serving(new RtuSlaveDriver(slave, line.Far, _clock, TimeSpan.FromMilliseconds(5)), _clock);
        var transaction = new Transaction { ReplyTimeout = Bound };
        transaction.ReadWrite(1, 0, 2, 1, [0x1234]);

        Assert.Equal(TransactionResult.Reply, new RtuMasterDriver(new RtuMaster(Lines.Usual), link, _clock).Run(transaction));
        Assert.Equal(0x1234, transaction.ReplyRegister(1));
    }

    [Fact]
    public void Read_NothingThere_TimesOut()
    {
        using var line = PseudoTerminal.Open();
        using var link = Open(line);

        Assert.Equal(LinkStatus.TimedOut, link.Read(new byte[8], TimeSpan.Zero, out _));
        Assert.Equal(LinkStatus.TimedOut, link.Read(new byte[8], _clock.Now + TimeSpan.FromMilliseconds(5), out var count));
        Assert.Equal(0, count);
    }

    [Fact]
    public void DiscardInput_OpenPort_IsOk()
    {
        using var line = PseudoTerminal.Open();
        using var link = Open(line);

        Assert.Equal(LinkStatus.Ok, link.DiscardInput());
    }

    [Fact]
    public void Open_NoSuchDevice_SaysSo()
    {
        var opening = SerialPortLink.Open("/dev/ttyNothingHere", Lines.Usual, _clock);

        Assert.Equal(OpenFailure.NoSuchDevice, opening.Failure);
        Assert.StartsWith("/dev/ttyNothingHere: no such device", opening.Reason, StringComparison.Ordinal);
    }

    private ILink Open(PseudoTerminal line)
    {
        var opening = SerialPortLink.Open(line.Device, Lines.Usual, _clock);
        Assert.Equal("", opening.Reason);
        return opening.Link!;
    }
}
