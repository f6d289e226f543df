using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Simulation.Bench;

namespace Supervisor.Simulation.Tests.Bench;

[SupportedOSPlatform("linux")]
public sealed class PseudoTerminalTests
{
    private static readonly LineSettings Line = new(115200, LineParity.None, 1, GapRule.Standard, TimeSpan.Zero);
    private static readonly IMonotonicClock Clock = MonotonicClock.System;

    public PseudoTerminalTests() => Assert.SkipUnless(OperatingSystem.IsLinux(), "pseudo-terminals of this kind are Linux's");

    [Fact]
    public void Bytes_EveryValue_PassBothWaysUnchanged()
    {
        using var terminal = PseudoTerminal.Open();
        using var link = SerialLink.Open(terminal.Device, Line).Link!;
        byte[] all = [.. Enumerable.Range(0, 256).Select(value => (byte)value)];
        Assert.Equal(LinkStatus.Ok, link.Write(all, Clock.Now + TimeSpan.FromSeconds(5)));
        Assert.Equal(all, Collect(into => terminal.Wait(100) == TerminalEvent.Readable ? terminal.Read(into) : 0));
        Assert.Equal(256, terminal.Write(all));
        Assert.Equal(all, Collect(into => link.Read(into, Clock.Now + TimeSpan.FromMilliseconds(100), out int count) == LinkStatus.Ok ? count : 0));
    }

    [Fact]
    public void Wait_AfterTheProgramLeft_TellsNobodyThereAndComesBack()
    {
        using var terminal = PseudoTerminal.Open();
        Assert.Equal(TerminalEvent.Nothing, terminal.Wait(0));
        SerialLink.Open(terminal.Device, Line).Link!.Dispose();
        Assert.Equal(TerminalEvent.NobodyThere, terminal.Wait(1000));
        Assert.Equal(0, terminal.Read(new byte[8]));
        Assert.Equal(0, terminal.Read(new byte[8]));
        using var again = SerialLink.Open(terminal.Device, Line).Link!;
        again.Write([1, 2, 3], Clock.Now + TimeSpan.FromSeconds(5));
        Assert.Equal(TerminalEvent.Readable, terminal.Wait(5000));
        Assert.Equal(3, terminal.Read(new byte[8]));
    }

    [Fact]
    public void Dispose_WhileOpen_HangsUp()
    {
        var terminal = PseudoTerminal.Open();
        using var link = SerialLink.Open(terminal.Device, Line).Link!;
        terminal.Dispose();
        Assert.Equal(LinkStatus.Gone, link.Read(new byte[8], Clock.Now + TimeSpan.FromSeconds(5), out _));
    }

    private static byte[] Collect(Func<byte[], int> read)
    {
        var bytes = new List<byte>();
        byte[] some = new byte[64];
        for (int i = 0; i < 200 && bytes.Count < 256; i++)
        {
            int count = read(some);
            bytes.AddRange(some.AsSpan(0, count));
        }

        return [.. bytes];
    }
}
