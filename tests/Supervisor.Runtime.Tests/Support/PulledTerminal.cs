using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Runtime.Tests.Support;

/// <summary>Where a plug is pulled.</summary>
internal enum Pull
{
    /// <summary>Between frames, or wherever the line is.</summary>
    Idle = 0,

    /// <summary>When a request has come: the drive does not hear it.</summary>
    AfterRequest = 1,

    /// <summary>In the reply, after some of its bytes: the drive has done what it was told.</summary>
    InReply = 2,
}

/// <summary>A drive behind a pseudo-terminal under a name that stays, whose plug is pulled at a stated place while its traffic runs.</summary>
[SupportedOSPlatform("linux")]
internal sealed class PulledTerminal : IDisposable
{
    private static readonly TimeSpan Silence = TimeSpan.FromMilliseconds(1);
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(5);
    private readonly string _name;
    private readonly Thread _thread;
    private readonly CutLink _link;

    /// <param name="name">The symbolic link that the supervisor opens.</param>
    /// <param name="drive">Answers at address 1.</param>
    public PulledTerminal(string name, HandDrive drive)
    {
        _name = name;
        var (far, device) = Master.Open();
        _link = new CutLink(far);
        var slave = new RtuSlave();
        slave.Serve(1, drive);
        _thread = new Thread(() => Serve(new RtuSlaveDriver(slave, _link, MonotonicClock.System, Silence), drive)) { IsBackground = true, Name = "slave" };
        _thread.Start();

        // By renaming, as udev does: the name is never missing while a device is there.
        File.CreateSymbolicLink($"{name}.new", device);
        File.Move($"{name}.new", name, overwrite: true);
    }

    /// <summary>Pulls the plug there, and returns when the device is gone with its name.</summary>
    /// <param name="pull">Where.</param>
    /// <param name="bytes">How many bytes of a reply still come out.</param>
    public void Unplug(Pull pull, int bytes)
    {
        _link.Arm(pull, bytes);
        _thread.Join();
        File.Delete(_name);
    }

    public void Dispose() => Unplug(Pull.Idle, 0);

    private void Serve(RtuSlaveDriver driver, HandDrive drive)
    {
        var clock = MonotonicClock.System;
        while (!_link.IsCut)
        {
            drive.Advance(clock.Now);

            // Before anybody opens the device its other side reads as gone: look again a little later.
            if (driver.Step(clock.Now + Look) == LinkStatus.Gone)
            {
                clock.WaitUntil(clock.Now + TimeSpan.FromMilliseconds(1));
            }

            _link.CutWhenIdle();
        }
    }

    /// <summary>The far side of the line, closed by the thread that serves it. A pull that waits for traffic in vain is one of an idle line.</summary>
    private sealed class CutLink(LinuxSerialLink far) : ILink
    {
        private const int IdleLooks = 8;
        private volatile int _pull = -1;
        private int _bytes;
        private int _looks;

        public bool IsCut { get; private set; }

        public void Arm(Pull pull, int bytes)
        {
            _bytes = bytes;
            _pull = (int)pull;
        }

        public void CutWhenIdle()
        {
            if (!IsCut && _pull >= 0 && (_pull == (int)Pull.Idle || ++_looks > IdleLooks))
            {
                Dispose();
            }
        }

        public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
        {
            var status = far.Read(into, deadline, out count);
            if (status == LinkStatus.Ok && _pull == (int)Pull.AfterRequest)
            {
                Dispose();
                count = 0;
                return LinkStatus.Gone;
            }

            return status;
        }

        public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
        {
            if (_pull != (int)Pull.InReply)
            {
                return far.Write(bytes, deadline);
            }

            var some = bytes[..Math.Min(_bytes, bytes.Length)];
            if (!some.IsEmpty)
            {
                _ = far.Write(some, deadline);
            }

            Dispose();
            return LinkStatus.Gone;
        }

        public LinkStatus DiscardInput() => far.DiscardInput();

        public void Dispose()
        {
            IsCut = true;
            far.Dispose();
        }
    }
}
