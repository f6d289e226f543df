using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Runtime;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Watching;

/// <summary>The machine as the coordinator sees it in one step: copies of all snapshots, taken once.</summary>
internal sealed class MachineView
{
    /// <summary>A port that has not stepped for this long, while the coordinator did, is taken for dead: what its snapshots say is history.</summary>
    public static readonly TimeSpan DeadAfter = TimeSpan.FromSeconds(1);

    // What one step counts for at most: who was kept from running, by a collection, a signal or a computer that stood still, saw no port be silent meanwhile.
    private static readonly TimeSpan LongestStep = TimeSpan.FromMilliseconds(100);

    private readonly PortSnapshot[] _ports;
    private readonly TimeSpan[] _silentFor;
    private readonly AxisSnapshot[] _snapshots;

    public MachineView(MachineBoard board)
    {
        Board = board;
        Axes = [.. board.Machine.Axes];
        _snapshots = new AxisSnapshot[Axes.Length];
        _ports = new PortSnapshot[board.Ports.Count];
        _silentFor = new TimeSpan[board.Ports.Count];
    }

    public MachineBoard Board { get; }

    public AxisDefinition[] Axes { get; }

    public TimeSpan Now { get; private set; }

    public int PortCount => _ports.Length;

    /// <summary>An axis as of this step.</summary>
    public ref readonly AxisSnapshot this[int axis] => ref _snapshots[axis];

    /// <summary>A port as of this step.</summary>
    public ref readonly PortSnapshot Port(int port) => ref _ports[port];

    public string NameOf(int axis) => Axes[axis].Name;

    public bool IsKnown(int axis) => axis >= 0 && axis < Axes.Length;

    /// <summary>True while the port's stepper steps.</summary>
    public bool IsAlive(int port) => _ports[port].At > TimeSpan.Zero && _silentFor[port] <= DeadAfter;

    /// <summary>True while the axis's drive answers and its port says so.</summary>
    public bool IsOnline(int axis) => _snapshots[axis].Online && IsAlive(Axes[axis].Port);

    /// <summary>
    /// Without torque and on no way to it or from it: one whose torque is taken away while its drive was about to give it shows none for a
    /// moment, and has some the next.
    /// </summary>
    public bool IsOff(int axis) => _snapshots[axis] is
    {
        TorqueOn: false, State: AxisState.Disabled or AxisState.Faulted,
        Detail: not (AxisDetail.Energising or AxisDetail.Stopping or AxisDetail.Deenergising),
    };

    /// <summary>Its motor holds its load alone, as far as its port has said.</summary>
    public bool HoldsLoad(int axis) => _snapshots[axis] is { State: AxisState.Faulted, Detail: AxisDetail.HoldingLoad };

    public void Refresh(TimeSpan now)
    {
        var passed = now - Now < LongestStep ? now - Now : LongestStep;
        Now = now;
        for (var port = 0; port < _ports.Length; port++)
        {
            var before = _ports[port].At;
            _ports[port] = Board.Ports[port].Port.Read();
            _silentFor[port] = _ports[port].At == before ? _silentFor[port] + passed : TimeSpan.Zero;
        }

        for (var axis = 0; axis < _snapshots.Length; axis++)
        {
            _snapshots[axis] = Board.Axes[axis].Read();
        }
    }
}
