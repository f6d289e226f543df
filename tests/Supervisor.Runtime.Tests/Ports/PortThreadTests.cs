using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Records.Axes;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Ports;
using Supervisor.Runtime.Stops;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Ports;

/// <summary>The port's thread on a real pseudo-terminal. What has to happen is waited for with a bound; how long it takes is never asserted.</summary>
[SupportedOSPlatform("linux")]
public sealed class PortThreadTests : IDisposable
{
    private static readonly TimeSpan Bound = TimeSpan.FromSeconds(30);

    private readonly MachineBoard _board = new(Parts.Machine(Parts.Axis("a")) with { Ports = [Parts.Port with { ResponseTimeout = TimeSpan.FromMilliseconds(30) }] });
    private readonly HandDrive _drive = new();
    private readonly PortStepper _stepper;
    private readonly PortThread _thread;
    private Terminal? _terminal;
    private volatile Exception? _ended;
    private volatile bool _breaks;
    private bool _isStarted;

    public PortThreadTests()
    {
        _stepper = new PortStepper(_board, 0);
        _terminal = new Terminal(1, _drive);
        _thread = new PortThread(_board, _stepper, "line-a", Open, MonotonicClock.System, exception => _ended = exception);
    }

    [Fact]
    public void Port_OpensExchangesHangsUpAndComesBack()
    {
        Start();
        Await(() => _board.Axes[0].Read() is { Online: true, State: AxisState.Disabled }, "met");
        Enable();

        _terminal!.Dispose();
        _terminal = null;
        Await(() => !_board.Ports[0].Port.Read().Open && _board.Axes[0].Read() is { Online: false, State: AxisState.Faulted }, "hang-up seen");

        _terminal = new Terminal(1, _drive);
        Await(() => _board.Axes[0].Read() is { Online: true }, "met again");
        Assert.True(_board.Ports[0].Port.Read().Open);
        Assert.True(_thread.Stop());
        Assert.Null(_ended);
        Assert.False(_board.Latch.IsStanding(StopCauses.ShutDown));
    }

    [Fact]
    public void Port_WhoseNameLeadsToAnotherDeviceAfterAnUnplug_FindsItThere()
    {
        var name = Path.Combine(Path.GetTempPath(), Path.GetRandomFileName());
        using var other = new Terminal(1, new HandDrive());
        File.CreateSymbolicLink(name, _terminal!.Device);
        var thread = new PortThread(_board, _stepper, "line-a", () => LinuxSerialLink.Open(name, _stepper.Line).Link, MonotonicClock.System, exception => _ended = exception);
        try
        {
            thread.Start();
            Await(() => _board.Axes[0].Read() is { Online: true, State: AxisState.Disabled }, "met");

            // The socket now holds another node, as after the system gave the adapter the next number; both are there for a moment.
            File.Delete(name);
            File.CreateSymbolicLink(name, other.Device);
            Assert.True(_board.Ports[0].Port.Read().Open);
            _terminal.Dispose();
            _terminal = null;
            Await(() => !_board.Ports[0].Port.Read().Open, "hang-up seen");
            Await(() => _board.Axes[0].Read() is { Online: true }, "met at the other node");
        }
        finally
        {
            Assert.True(thread.Stop());
            File.Delete(name);
        }

        Assert.Null(_ended);
    }

    [Fact]
    public void ExceptionOnThePortsThread_TripsTheMachineSendsTheStopAndIsTold()
    {
        Start();
        Await(() => _board.Axes[0].Read() is { Online: true, State: AxisState.Disabled }, "met");
        Enable();
        _breaks = true;
        Await(() => _ended is not null, "told");
        Assert.IsType<InvalidOperationException>(_ended);
        Assert.True(_board.Latch.IsStanding(StopCauses.ShutDown));
        Await(() => _drive[64] == 0x02, "the last frame is the quick stop");
        Assert.True(_thread.Stop());
    }

    public void Dispose()
    {
        if (_isStarted)
        {
            _thread.Stop();
        }

        _terminal?.Dispose();
    }

    private void Start()
    {
        _isStarted = true;
        _thread.Start();
    }

    private void Enable()
    {
        Assert.True(_board.Ports[0].Mailbox.TryWrite(new AxisCommand(1, 0, AxisCommandKind.Enable, 0, 0, 0, 0, 0, 0)));
        Await(() => _board.Axes[0].Read().State == AxisState.Ready, "enabled");
    }

    private Breaking? Open() => _terminal is { } terminal && LinuxSerialLink.Open(terminal.Device, _stepper.Line).Link is { } link ? new Breaking(this, link) : null;

    private static void Await(Func<bool> holds, string what)
    {
        var end = MonotonicClock.System.Now + Bound;
        while (!holds())
        {
            Assert.True(MonotonicClock.System.Now < end, $"not within {Bound}: {what}");
            MonotonicClock.System.WaitUntil(MonotonicClock.System.Now + TimeSpan.FromMilliseconds(2));
        }
    }

    /// <summary>A real link that throws once when told to, as a bug in the port's thread would.</summary>
    private sealed class Breaking(PortThreadTests test, ILink link) : ILink
    {
        public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
        {
            if (test._breaks)
            {
                test._breaks = false;
                throw new InvalidOperationException("a planted bug");
            }

            return link.Write(bytes, deadline);
        }

        public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count) => link.Read(into, deadline, out count);

        public LinkStatus DiscardInput() => link.DiscardInput();

        public void Dispose() => link.Dispose();
    }
}
