using System.ComponentModel;
using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using System.Text;
using Microsoft.Win32.SafeHandles;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Runtime.Tests.Support;

/// <summary>A pseudo-terminal with a slave on its other side, run by a thread of its own until it is hung up.</summary>
[SupportedOSPlatform("linux")]
internal sealed partial class Terminal : IDisposable
{
    private const int O_RDWR = 0x2;
    private const int O_NOCTTY = 0x100;
    private const int O_NONBLOCK = 0x800;
    private const int O_CLOEXEC = 0x80000;
    private static readonly TimeSpan Silence = TimeSpan.FromMilliseconds(2);

    private readonly LinuxSerialLink _far;
    private readonly Thread _thread;
    private volatile bool _stop;

    public Terminal(byte address, HandDrive drive)
    {
        var master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
        var name = new byte[128];
        if (master < 0 || grantpt(master) != 0 || unlockpt(master) != 0 || ptsname_r(master, name, (nuint)name.Length) != 0)
        {
            throw new Win32Exception(Marshal.GetLastPInvokeError());
        }

        Device = Encoding.ASCII.GetString(name, 0, Array.IndexOf(name, (byte)0));
        _far = LinuxSerialLink.Over(new SafeFileHandle(master, ownsHandle: true));
        var slave = new RtuSlave();
        slave.Serve(address, drive);
        var clock = MonotonicClock.System;
        var driver = new RtuSlaveDriver(slave, _far, clock, Silence);
        _thread = new Thread(() =>
        {
            while (!_stop)
            {
                drive.Advance(clock.Now);

                // Before anybody opens the device its other side reads as gone: look again a little later.
                if (driver.Step(clock.Now + TimeSpan.FromMilliseconds(20)) == LinkStatus.Gone)
                {
                    clock.WaitUntil(clock.Now + TimeSpan.FromMilliseconds(5));
                }
            }
        })
        { IsBackground = true, Name = "slave" };
        _thread.Start();
    }

    public string Device { get; }

    public void Dispose()
    {
        _stop = true;
        _thread.Join();
        _far.Dispose();
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
