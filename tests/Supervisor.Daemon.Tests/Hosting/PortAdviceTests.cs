using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;

namespace Supervisor.Daemon.Tests.Hosting;

/// <summary>What is told of devices that work but should be mended. The system's files are laid out by hand: no adapter with a latency timer is to be had here.</summary>
public sealed class PortAdviceTests : IDisposable
{
    private readonly DirectoryInfo _root = Directory.CreateTempSubdirectory("advice-");
    private readonly MachineDefinition _machine = MachineFile.Read(Path.Combine(AppContext.BaseDirectory, "demo", "machine.json")).Value!;

    public void Dispose() => _root.Delete(recursive: true);

    [Theory]
    [InlineData(1, false)]
    [InlineData(16, true)]
    public void LatencyTimer_AboveWhatTheCycleLeaves_IsToldWithTheNumbers(int latencyMs, bool isTold)
    {
        var advice = PortAdvice.Of(Behind(latencyMs), 0, _root.FullName).ToList();
        Assert.Equal(isTold, advice.Count == 1);
        Assert.All(advice, each => Assert.Contains($"up to {latencyMs} ms", each, StringComparison.Ordinal));
        Assert.All(advice, each => Assert.Contains("ATTR{latency_timer}=\"1\"", each, StringComparison.Ordinal));
    }

    [Fact]
    public void LatencyTimer_InACycleWithRoomForIt_IsNotTold()
    {
        var machine = Behind(4);
        var port = machine.Ports[0] with { Cycle = TimeSpan.FromSeconds(1), ResponseTimeout = TimeSpan.FromMilliseconds(100) };
        Assert.Empty(PortAdvice.Of(machine with { Ports = [port, .. machine.Ports.Skip(1)] }, 0, _root.FullName));
    }

    [Fact]
    public void NameThatPasses_IsTold_OneThatStaysIsNot()
    {
        Assert.Contains(PortAdvice.All(With("/dev/ttyUSB7"), _root.FullName), each => each.StartsWith($"port {_machine.Ports[0].Name}: /dev/ttyUSB7 may be another adapter", StringComparison.Ordinal));
        Assert.Empty(PortAdvice.Of(With("/dev/serial/by-path/left"), 0, _root.FullName));
    }

    [Fact]
    public void DelayAfterSending_LongerThanTheDrivesTurnaround_IsTold()
    {
        var port = _machine.Ports[0] with { Rs485 = new Rs485Definition(true, TimeSpan.Zero, TimeSpan.FromMilliseconds(20)) };
        var advice = PortAdvice.All(_machine with { Ports = [port, .. _machine.Ports.Skip(1)] }, _root.FullName).ToList();
        Assert.Equal(_machine.Axes.Count(axis => axis.Port == 0), advice.Count(each => each.Contains("rs485.delayAfterMs 20", StringComparison.Ordinal)));
    }

    private MachineDefinition With(string device) => _machine with { Ports = [_machine.Ports[0] with { Device = device }, .. _machine.Ports.Skip(1)] };

    private MachineDefinition Behind(int latencyMs)
    {
        var node = Path.Combine(_root.FullName, "ttyUSB3");
        File.WriteAllText(node, "");
        var folder = Directory.CreateDirectory(Path.Combine(_root.FullName, "class", "tty", "ttyUSB3", "device"));
        File.WriteAllText(Path.Combine(folder.FullName, "latency_timer"), $"{latencyMs}\n");
        var stable = Path.Combine(_root.FullName, "left");
        File.Delete(stable);
        File.CreateSymbolicLink(stable, node);
        return With(stable);
    }
}
