using System.ComponentModel;
using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using System.Text;
using Microsoft.Win32.SafeHandles;
using Supervisor.Bus.Links;

namespace Supervisor.Bus.Tests.Support;

/// <summary>A pseudo-terminal: a device node for the program under test, and the other side of its line for the test.</summary>
[SupportedOSPlatform("linux")]
internal sealed partial class PseudoTerminal : IDisposable
{
    private const int O_RDWR = 0x2;
    private const int O_NOCTTY = 0x100;
    private const int O_NONBLOCK = 0x800;
    private const int O_CLOEXEC = 0x80000;

    private PseudoTerminal(LinuxSerialLink far, string device)
    {
        Far = far;
        Device = device;
    }

    /// <summary>Path of the device node.</summary>
    public string Device { get; }

    /// <summary>The far side of the line; disposing it hangs the device up.</summary>
    public LinuxSerialLink Far { get; }

    public static PseudoTerminal Open()
    {
        var master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
        var name = new byte[128];
        if (master < 0 || grantpt(master) != 0 || unlockpt(master) != 0 || ptsname_r(master, name, (nuint)name.Length) != 0)
        {
            throw new Win32Exception(Marshal.GetLastPInvokeError());
        }

        var device = Encoding.ASCII.GetString(name, 0, Array.IndexOf(name, (byte)0));
        return new PseudoTerminal(LinuxSerialLink.Over(new SafeFileHandle(master, ownsHandle: true)), device);
    }

    public void Dispose() => Far.Dispose();

    [LibraryImport("libc", SetLastError = true)]
    private static partial int posix_openpt(int flags);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int grantpt(int descriptor);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int unlockpt(int descriptor);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int ptsname_r(int descriptor, byte[] name, nuint length);
}
