using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Supervisor.Bus.Links;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Links;

/// <summary>Why a device can't be opened, each with a reason that says what to do.</summary>
[SupportedOSPlatform("linux")]
public sealed partial class LinkOpeningTests
{
    [Theory]
    [InlineData("/dev/serial/by-path/nothing-is-plugged-in-here")]
    [InlineData("/dev/null/below-a-file")]
    public void Open_NoSuchDevice_SaysSo(string device) => AssertFails(device, OpenFailure.NoSuchDevice, "no such device");

    [Fact]
    public void Open_RegularFile_IsNoTerminal()
    {
        var file = Path.GetTempFileName();
        try
        {
            AssertFails(file, OpenFailure.NotATerminal, "not a terminal");
        }
        finally
        {
            File.Delete(file);
        }
    }

    [Theory]
    [InlineData("/dev/null")]
    [InlineData("/dev")]
    public void Open_OtherDeviceOrFolder_IsNoTerminal(string device) => AssertFails(device, OpenFailure.NotATerminal, "not a terminal");

    [Fact]
    public void Open_HeldByAnother_IsBusyUntilItIsClosed()
    {
        using var line = PseudoTerminal.Open();
        using (LinuxSerialLink.Open(line.Device, Lines.Usual).Link)
        {
            // A second opening is another holder to the lock, in this process or in another one.
            AssertFails(line.Device, OpenFailure.Busy, "held by this program itself");
        }

        using var again = LinuxSerialLink.Open(line.Device, Lines.Usual).Link;
        Assert.NotNull(again);
    }

    [Fact]
    public void Open_HeldByAnotherProcess_NamesIt()
    {
        using var line = PseudoTerminal.Open();

        // A shell that holds the device and its lock, as another program of this kind does.
        using var other = System.Diagnostics.Process.Start(new System.Diagnostics.ProcessStartInfo("/bin/sh", ["-c", $"exec 3<>{line.Device}; flock 3; echo held; read end"])
        {
            RedirectStandardInput = true, RedirectStandardOutput = true,
        })!;
        Assert.Equal("held", other.StandardOutput.ReadLine());
        AssertFails(line.Device, OpenFailure.Busy, $"held by process {other.Id} (/bin/sh -c");

        other.StandardInput.WriteLine("end");
        other.WaitForExit();
        using var link = LinuxSerialLink.Open(line.Device, Lines.Usual).Link;
        Assert.NotNull(link);
    }

    [Fact]
    public void Open_ThroughALink_FollowsItAtEachOpening()
    {
        using var first = PseudoTerminal.Open();
        using var second = PseudoTerminal.Open();
        var name = Path.Combine(Path.GetTempPath(), Path.GetRandomFileName());
        try
        {
            File.CreateSymbolicLink(name, first.Device);
            using (LinuxSerialLink.Open(name, Lines.Usual).Link)
            {
                AssertFails(first.Device, OpenFailure.Busy, "busy");
            }

            File.Delete(name);
            File.CreateSymbolicLink(name, second.Device);
            using var link = LinuxSerialLink.Open(name, Lines.Usual).Link;
            AssertFails(second.Device, OpenFailure.Busy, "busy");
        }
        finally
        {
            File.Delete(name);
        }
    }

    [Fact]
    public void Open_DeviceThatHungUp_Fails()
    {
        var line = PseudoTerminal.Open();
        line.Dispose();

        Assert.NotEqual(OpenFailure.None, LinuxSerialLink.Open(line.Device, Lines.Usual).Failure);
    }

    [Fact]
    public void Open_WithoutPermission_NamesTheGroup()
    {
        var file = Path.GetTempFileName();
        File.SetUnixFileMode(file, UnixFileMode.None);
        try
        {
            LinkOpening opening = default;
            // The file-system user is a property of the thread: root gives it up on one that ends with the test.
            var thread = new Thread(() =>
            {
                _ = setfsuid(65534);
                opening = LinuxSerialLink.Open(file, Lines.Usual);
            });
            thread.Start();
            thread.Join();

            Assert.Equal(OpenFailure.PermissionDenied, opening.Failure);
            Assert.Contains("add the user to group dialout", opening.Reason, StringComparison.Ordinal);
        }
        finally
        {
            File.Delete(file);
        }
    }

    [Theory]
    [InlineData(2, OpenFailure.NoSuchDevice)] // ENOENT
    [InlineData(6, OpenFailure.NoSuchDevice)] // ENXIO
    [InlineData(19, OpenFailure.NoSuchDevice)] // ENODEV
    [InlineData(13, OpenFailure.PermissionDenied)] // EACCES
    [InlineData(1, OpenFailure.PermissionDenied)] // EPERM
    [InlineData(16, OpenFailure.Busy)] // EBUSY
    [InlineData(25, OpenFailure.NotATerminal)] // ENOTTY
    [InlineData(5, OpenFailure.DeviceError)] // EIO
    [InlineData(24, OpenFailure.DeviceError)] // EMFILE: anything else
    public void FromErrno_EachNumber_HasItsFailureAndNamesTheDevice(int errno, OpenFailure failure)
    {
        // Numbers of the kernel's errno.h.
        var opening = LinuxTerminal.FromErrno("/dev/ttyUSB7", errno);

        Assert.Equal(failure, opening.Failure);
        Assert.StartsWith("/dev/ttyUSB7: ", opening.Reason, StringComparison.Ordinal);
        Assert.Null(opening.Link);
    }

    [Theory]
    [InlineData(0, 1)]
    [InlineData(9600, 0)]
    [InlineData(9600, 3)]
    public void Open_ImpossibleSettings_Throws(int baud, int stopBits) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => LinuxSerialLink.Open("/dev/null", Lines.Usual with { Baud = baud, StopBits = stopBits }));

    private static void AssertFails(string device, OpenFailure failure, string saying)
    {
        var opening = LinuxSerialLink.Open(device, Lines.Usual);
        Assert.Equal(failure, opening.Failure);
        Assert.Null(opening.Link);
        Assert.StartsWith($"{device}: ", opening.Reason, StringComparison.Ordinal);
        Assert.Contains(saying, opening.Reason, StringComparison.Ordinal);
    }

    [LibraryImport("libc")]
    private static partial int setfsuid(uint user);
}
