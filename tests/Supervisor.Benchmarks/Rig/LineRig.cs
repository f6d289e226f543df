using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;
using Supervisor.Records.Axes;
using Supervisor.Runtime;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Ports;
using Supervisor.Simulation.Bench;

namespace Supervisor.Benchmarks.Rig;

/// <summary>
/// A machine with one port below the coordinator: the real stepper and thread on a pseudo-terminal, raised as in service where that is
/// permitted, and the simulated drives at its other end on a thread of their own, which keeps the times of the wire.
/// </summary>
[SupportedOSPlatform("linux")]
internal sealed class LineRig : IDisposable
{
    private const int MostAttempts = 10;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);
    private static readonly TimeSpan AskInterval = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan LookInterval = TimeSpan.FromMilliseconds(0.5);

    private static readonly TimeSpan DriveAwake = TimeSpan.FromMicroseconds(80);

    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("benchmark-");
    private readonly MachineBench _bench;
    private readonly PortThread _thread;
    private volatile Exception? _ended;
    private ulong _lastId;

    /// <summary>Starts it all and waits until every axis is energised.</summary>
    /// <param name="machineJson">A machine file with the demo's drives.</param>
    public LineRig(string machineJson)
    {
        // As the daemon does.
        RealTimePriority.FavourProcess();
        File.Copy(Path.Combine(AppContext.BaseDirectory, "demo", "reference.drive.json"), Path.Combine(_folder.FullName, "reference.drive.json"));
        var path = Path.Combine(_folder.FullName, "machine.json");
        File.WriteAllText(path, machineJson);
        var file = MachineFile.Read(path);
        Machine = file.Value is { } machine && file.IsGood ? machine : throw new InvalidOperationException(string.Join(Environment.NewLine, file.Errors));
        Board = new MachineBoard(Machine);
        var stepper = new PortStepper(Board, 0);
        _bench = new MachineBench(Machine, _folder.FullName, new RaisingClock(Clock, DriveAwake)) { RequestBegunAt = () => Frames.LastAt };
        _bench.Start();
        _thread = new PortThread(Board, stepper, Machine.Ports[0].Name, () => Open(stepper.Line), PortClock, exception => _ended = exception)
        {
            Begins = () => IsRaised = RealTimePriority.TryRaiseThisThread(),
        };
        _thread.Start();
        EnableAll();
    }

    public MachineDefinition Machine { get; }

    public MachineBoard Board { get; }

    /// <summary>The computer's clock.</summary>
    public IMonotonicClock Clock { get; } = MonotonicClock.System;

    /// <summary>The same, as the port's thread sees it.</summary>
    public WatchedClock PortClock { get; } = new(MonotonicClock.System);

    /// <summary>Requests of the port.</summary>
    public FrameLog Frames { get; } = new();

    /// <summary>The port's thread has real-time priority.</summary>
    public bool IsRaised { get; private set; }

    /// <summary>Gives a command; waits while the mailbox is full.</summary>
    public void Give(int axis, AxisCommandKind kind, double target = 0)
    {
        var limits = Machine.Axes[axis].Limits;
        var command = new AxisCommand(
            ++_lastId, (short)axis, kind, Board.Latch.StopEpoch(axis), target, limits.Velocity, limits.Acceleration, limits.Deceleration, 0);
        WaitFor($"room for {kind}", () => Board.Ports[0].Mailbox.TryWrite(command));
    }

    /// <summary>Looks again and again until it is so, and keeps the rings empty meanwhile.</summary>
    public void WaitFor(string what, Func<bool> isSo)
    {
        var end = Clock.Now + Patience;
        while (true)
        {
            Drain();
            if (isSo())
            {
                return;
            }

            if (_ended is not null || Clock.Now > end)
            {
                throw new InvalidOperationException($"waited in vain for {what}", _ended);
            }

            Clock.WaitUntil(Clock.Now + LookInterval);
        }
    }

    /// <summary>Every axis is in a state.</summary>
    public bool AllAre(AxisState state) => Board.Axes.All(cell => cell.Read() is { Online: true } axis && axis.State == state);

    public void Dispose()
    {
        _thread.Stop();
        _bench.Dispose();
        _folder.Delete(recursive: true);
    }

    private WatchedLink? Open(LineSettings line) =>
        SerialLink.Open(Path.Combine(_folder.FullName, Machine.Ports[0].Name), line).Link is { } link ? new WatchedLink(link, PortClock, Frames) : null;

    /// <summary>Resets every axis and energises it anew, after a computer that stood still had made a fault.</summary>
    /// <exception cref="DisturbedException">Further faults kept coming meanwhile.</exception>
    public void Recover()
    {
        for (var attempt = 1; ; attempt++)
        {
            try
            {
                ResetAll();
                return;
            }
            catch (DisturbedException) when (attempt < MostAttempts)
            {
                // The fault of another axis: told, and reset like the first one's.
            }
        }
    }

    private void ResetAll()
    {
        // An axis without a fault of its own holds.
        WaitFor("every axis to have stopped", () => Board.Axes.All(cell => cell.Read() is { TorqueOn: false } or { State: AxisState.Ready }));
        for (var axis = 0; axis < Machine.Axes.Count; axis++)
        {
            Give(axis, Board.Axes[axis].Read().State == AxisState.Faulted ? AxisCommandKind.Reset : AxisCommandKind.Disable);
        }

        EnableAll();
    }

    private void EnableAll()
    {
        WaitFor("every drive to be met", () => AllAre(AxisState.Disabled));
        TimeSpan? asked = null;
        WaitFor("every axis to be energised", () =>
        {
            if (!AllAre(AxisState.Ready) && (asked is not { } last || Clock.Now - last > AskInterval))
            {
                // Again, as the stop of one axis that failed may have tripped another meanwhile.
                asked = Clock.Now;
                EnableWhatIsOff();
            }

            return AllAre(AxisState.Ready);
        });
    }

    private void EnableWhatIsOff()
    {
        for (var cause = 0; cause < Board.Causes.Count; cause++)
        {
            Board.Latch.Reset(cause, Board.Latch.TripCount(cause));
        }

        for (var axis = 0; axis < Machine.Axes.Count; axis++)
        {
            if (Board.Axes[axis].Read().State == AxisState.Disabled)
            {
                Give(axis, AxisCommandKind.Enable);
            }
        }
    }

    private void Drain()
    {
        var channel = Board.Ports[0];
        while (channel.Reports.TryRead(out _) || channel.Stops.TryRead(out _))
        {
        }

        while (channel.Faults.TryRead(out var fault))
        {
            // What is told of the line alone stops nothing; what stops an axis is told of the axis.
            if (fault.Axis >= 0)
            {
                throw new DisturbedException($"axis {fault.Axis}: {fault.Code}");
            }
        }
    }
}
