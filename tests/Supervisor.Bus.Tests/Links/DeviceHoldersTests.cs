using System.Globalization;
using System.Runtime.Versioning;
using Supervisor.Bus.Links;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Links;

/// <summary>Who has a device open, by a folder laid out as proc(5) tells.</summary>
[SupportedOSPlatform("linux")]
public sealed class DeviceHoldersTests : IDisposable
{
    private readonly string _proc = Directory.CreateTempSubdirectory("proc-").FullName;

    public void Dispose() => Directory.Delete(_proc, recursive: true);

    [Fact]
    public void Of_ADevice_NamesWhoHasItOpen()
    {
        Process(4711, "master\0poll", (5, "/dev/ttyUSB0", null));
        Process(4712, "editor", (5, "/dev/null", null));

        Assert.Equal([new DeviceHolder(4711, "master poll")], new DeviceHolders(_proc).Of("/dev/ttyUSB0"));
    }

    /// <summary>Bench programs keep the device open beside its other end, or every closing by a client would hang the line up.</summary>
    [Fact]
    public void Of_APseudoTerminal_LeavesOutWhoIsItsLine()
    {
        Process(4711, "bench", (5, "/dev/ptmx", 7), (6, "/dev/pts/7", null));
        Process(4712, "relay", (5, "/dev/ptmx", 8), (6, "/dev/pts/7", null));
        Process(4713, "master", (5, "/dev/pts/7", null));

        Assert.Equal([4712, 4713], new DeviceHolders(_proc).Of("/dev/pts/7").Select(holder => holder.Process));
    }

    /// <summary>The kernel of the machine that tests writes <c>fdinfo</c>.</summary>
    [Fact]
    public void IsOtherEnd_OfARealPseudoTerminal_IsSeen()
    {
        using var terminal = PseudoTerminal.Open();

        Assert.True(new DeviceHolders().IsOtherEnd(Environment.ProcessId, terminal.Device));
        Assert.False(new DeviceHolders().IsOtherEnd(Environment.ProcessId, "/dev/pts/999999"));
        Assert.False(new DeviceHolders().IsOtherEnd(Environment.ProcessId, "/dev/ttyUSB0"));
    }

    private void Process(int number, string command, params (int File, string Target, int? Index)[] files)
    {
        var folder = Directory.CreateDirectory(Path.Combine(_proc, number.ToString(CultureInfo.InvariantCulture))).FullName;
        Directory.CreateDirectory(Path.Combine(folder, "fd"));
        Directory.CreateDirectory(Path.Combine(folder, "fdinfo"));
        File.WriteAllText(Path.Combine(folder, "cmdline"), command);
        foreach (var (file, target, index) in files)
        {
            var name = file.ToString(CultureInfo.InvariantCulture);
            File.CreateSymbolicLink(Path.Combine(folder, "fd", name), target);
            File.WriteAllText(Path.Combine(folder, "fdinfo", name), string.Create(CultureInfo.InvariantCulture, $"pos:\t0\nflags:\t02100002\n{(index is null ? "" : $"tty-index:\t{index}\n")}"));
        }
    }
}
