using Supervisor.Machine.Brakes;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Runtime.Stops;

namespace Supervisor.Machine.Stops;

/// <summary>How far a shut-down is.</summary>
/// <param name="IsBegun">Commands are refused, all axes are being stopped in category 1.</param>
/// <param name="IsStopped">Every axis that answers was seen without torque, or at rest and disabled or faulted.</param>
/// <param name="IsOverdue">The deadline passed before that.</param>
/// <param name="NotStopped">Axes of which it was not seen, while <paramref name="IsOverdue"/>.</param>
/// <param name="LeftHeld">A sentence for each axis whose motor goes on holding its load alone, once it is over.</param>
public sealed record ShutDownState(bool IsBegun, bool IsStopped, bool IsOverdue, IReadOnlyList<string> NotStopped, IReadOnlyList<string> LeftHeld);

/// <summary>Stops the whole machine for the end of the process and watches that it does stop.</summary>
internal sealed class ShutDownWatch(MachineView view, TimeSpan deadline)
{
    private static readonly ShutDownState NotBegun = new(false, false, false, [], []);
    private volatile ShutDownState _state = NotBegun;
    private static readonly TimeSpan OutputsPatience = TimeSpan.FromMilliseconds(500);
    private long _begunAtTicks;
    private TimeSpan? _puttingSince;

    /// <summary>Puts outputs as they are left, once the axes have stopped or should have; told whether it is the first call. True when they are.</summary>
    public Func<bool, bool>? PutOutputs { get; set; }

    /// <summary>How far it is. Any thread.</summary>
    public ShutDownState State => _state;

    /// <summary>Trips the latch at once. Any thread; the first call counts.</summary>
    public void Begin(TimeSpan now)
    {
        if (Interlocked.CompareExchange(ref _begunAtTicks, now.Ticks, 0) == 0)
        {
            view.Board.Latch.Trip(StopCauses.ShutDown);
            _state = NotBegun with { IsBegun = true };
        }
    }

    /// <summary>Looks at the axes; true once, when it is over one way or the other.</summary>
    public bool Step()
    {
        if (_state is not { IsBegun: true, IsStopped: false, IsOverdue: false })
        {
            return false;
        }

        var begunAt = TimeSpan.FromTicks(Volatile.Read(ref _begunAtTicks));
        var stopped = true;
        for (var axis = 0; axis < view.Axes.Length; axis++)
        {
            stopped &= IsStopped(axis, begunAt);
        }

        var isOverdue = !stopped && view.Now - begunAt >= deadline;
        if (!stopped && !isOverdue)
        {
            return false;
        }

        if (!HasPutOutputs())
        {
            return false;
        }

        var held = Enumerable.Range(0, view.Axes.Length).Where(axis => view.HoldsLoad(axis))
            .Select(axis => HeldLoadTexts.LeftHeld(view.NameOf(axis), view.Axes[axis].CommunicationTimeout)).ToArray();
        if (stopped)
        {
            _state = _state with { IsStopped = true, LeftHeld = held };
        }
        else
        {
            var names = Enumerable.Range(0, view.Axes.Length).Where(axis => !IsStopped(axis, begunAt)).Select(view.NameOf).ToArray();
            _state = _state with { IsOverdue = true, NotStopped = names, LeftHeld = held };
        }

        return _state.IsStopped || _state.IsOverdue;
    }

    /// <summary>An output that nobody confirms holds up nothing for long.</summary>
    private bool HasPutOutputs()
    {
        var isFirst = _puttingSince is null;
        _puttingSince ??= view.Now;
        return PutOutputs?.Invoke(isFirst) != false || view.Now - _puttingSince >= OutputsPatience;
    }

    /// <summary>Only what a port has said since the shut-down began counts; an axis that does not answer is left to its own time-out.</summary>
    private bool IsStopped(int axis, TimeSpan begunAt)
    {
        ref readonly var now = ref view[axis];
        return !now.Online
            || (view.Port(view.Axes[axis].Port).At > begunAt && (!now.TorqueOn || (now.AtRest && now.State is AxisState.Disabled or AxisState.Faulted)));
    }
}
