using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Stops;

/// <summary>Which bit of the <see cref="StopLatch"/> is what, and which axes it stops how: computed once from the machine file.</summary>
public sealed class StopCauses
{
    /// <summary>The daemon shuts down or a port's thread ended: all axes, category 1.</summary>
    public const int ShutDown = 0;

    private const int FirstInterlock = 1;
    private readonly int _interlocks;
    private readonly ulong[][] _masks;

    public StopCauses(MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        _interlocks = machine.Interlocks.Count;
        Count = FirstInterlock + _interlocks + machine.Groups.Count;
        _masks = new ulong[machine.Axes.Count][];
        for (var axis = 0; axis < _masks.Length; axis++)
        {
            _masks[axis] = new ulong[3];
            _masks[axis][1] |= 1UL << ShutDown;
            for (var interlock = 0; interlock < _interlocks; interlock++)
            {
                if (machine.Interlocks[interlock].Axes.Contains(axis))
                {
                    _masks[axis][machine.Interlocks[interlock].StopCategory] |= 1UL << Interlock(interlock);
                }
            }

            if (machine.Axes[axis].Group is { } group)
            {
                // A group's other members stop in order and keep torque: the fault is elsewhere.
                _masks[axis][2] |= 1UL << Group(group);
            }
        }
    }

    /// <summary>Number of causes.</summary>
    public int Count { get; }

    /// <summary>Cause of an interlock.</summary>
    public static int Interlock(int interlock) => FirstInterlock + interlock;

    /// <summary>Cause of a group: one of its axes is faulted.</summary>
    public int Group(int group) => FirstInterlock + _interlocks + group;

    /// <summary>The interlock behind a cause, -1 when it is none.</summary>
    public int InterlockOf(int cause) => cause >= FirstInterlock && cause < FirstInterlock + _interlocks ? cause - FirstInterlock : -1;

    /// <summary>The group behind a cause, -1 when it is none.</summary>
    public int GroupOf(int cause) => cause >= FirstInterlock + _interlocks && cause < Count ? cause - FirstInterlock - _interlocks : -1;

    /// <summary>Causes that stop an axis with a stop category (0, 1, 2).</summary>
    public ulong Mask(int axis, int category) => _masks[axis][category];

    /// <summary>Causes that stop an axis at all.</summary>
    public ulong Mask(int axis) => _masks[axis][0] | _masks[axis][1] | _masks[axis][2];
}
