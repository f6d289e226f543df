using System.Runtime.Versioning;
using Supervisor.Bus.Links;

namespace Supervisor.Bus.Tests.Links;

[SupportedOSPlatform("linux")]
public sealed class SerialPortsTests : IDisposable
{
    private readonly string _root = Directory.CreateTempSubdirectory("serial-ports-").FullName;

    public void Dispose() => Directory.Delete(_root, recursive: true);

    [Fact]
    public void List_NoStableNames_GivesTheNamesInOrder()
    {
        var ports = SerialPorts.List(["/dev/ttyS1", "/dev/ttyS0"], Path.Combine(_root, "absent"));

        Assert.Equal(["/dev/ttyS0", "/dev/ttyS1"], ports.Select(port => port.Name));
        Assert.All(ports, port => Assert.Empty(port.StableNames));
    }

    [Fact]
    public void List_LinksByPathAndId_GivesThemBesideTheirDeviceByPathFirst()
    {
        var device = Device("ttyUSB0");
        var id = Link("by-id", "usb-adapter-if00", device);
        var path = Link("by-path", "usb-0:1.2:1.0", device);

        var port = Assert.Single(SerialPorts.List([device], _root));

        Assert.Equal(device, port.Name);
        Assert.Equal([path, id], port.StableNames);
    }

    [Fact]
    public void List_LinkedDeviceThatIsNotNamed_IsListedToo()
    {
        var device = Device("ttyACM0");
        Link("by-path", "usb-0:1.3:1.0", device);

        Assert.Equal([device], SerialPorts.List([], _root).Select(port => port.Name));
    }

    [Fact]
    public void List_LinkToNothing_IsLeftOut()
    {
        Link("by-path", "usb-0:1.4:1.0", Path.Combine(_root, "unplugged"));

        Assert.Empty(SerialPorts.List([], _root));
    }

    [Fact]
    public void List_ThisComputer_DoesNotFail() => Assert.All(SerialPorts.List(), port => Assert.NotEmpty(port.Name));

    private string Device(string name)
    {
        var path = Path.Combine(_root, name);
        File.WriteAllText(path, "");
        return path;
    }

    private string Link(string folder, string name, string target)
    {
        var path = Path.Combine(Directory.CreateDirectory(Path.Combine(_root, folder)).FullName, name);
        File.CreateSymbolicLink(path, target);
        return path;
    }
}
