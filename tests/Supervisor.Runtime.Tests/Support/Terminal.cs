using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Runtime.Tests.Support;

/// <summary>A pseudo-terminal with a slave on its other side, run by a thread of its own until it is hung up.</summary>
[SupportedOSPlatform("linux")]
internal sealed class Terminal : IDisposable
{
    private static readonly TimeSpan Silence = TimeSpan.FromMilliseconds(2);

    private readonly LinuxSerialLink _far;
    private readonly Thread _thread;
    private volatile bool _stop;

    public Terminal(byte address, HandDrive drive)
    {
        (_far, Device) = Master.Open();
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
}
