using System.ComponentModel;
using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using System.Text;
using Microsoft.Win32.SafeHandles;
using Supervisor.Bus.Links;

namespace Supervisor.Runtime.Tests.Support;

/// <summary>The master side of a pseudo-terminal. Closing it hangs the device up, as pulling an adapter does.</summary>
[SupportedOSPlatform("linux")]
internal static partial class Master
{
    private const int O_RDWR = 0x2;
    private const int O_NOCTTY = 0x100;
    private const int O_NONBLOCK = 0x800;
    private const int O_CLOEXEC = 0x80000;

    /// <summary>Makes one.</summary>
    /// <returns>The master side, and the path of the device node on the other.</returns>
    public static (LinuxSerialLink Link, string Device) Open()
    {
        var master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
        var name = new byte[128];
        if (master < 0 || grantpt(master) != 0 || unlockpt(master) != 0 || ptsname_r(master, name, (nuint)name.Length) != 0)
        {
            throw new Win32Exception(Marshal.GetLastPInvokeError());
        }

        return (LinuxSerialLink.Over(new SafeFileHandle(master, ownsHandle: true)), Encoding.ASCII.GetString(name, 0, Array.IndexOf(name, (byte)0)));
    }

    [LibraryImport("libc", SetLastError = true)]
    private static partial int posix_openpt(int flags);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int grantpt(int descriptor);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int unlockpt(int descriptor);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int ptsname_r(int descriptor, byte[] name, nuint length);
}
