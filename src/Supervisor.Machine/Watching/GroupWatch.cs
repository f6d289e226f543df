using Supervisor.Records.Axes;

namespace Supervisor.Machine.Watching;

/// <summary>Lets a group go once none of its axes is faulted any more. The ports trip it when one is.</summary>
internal sealed class GroupWatch
{
    // A port may trip the group a moment before its snapshot shows the fault.
    private static readonly TimeSpan UnseenFault = TimeSpan.FromMilliseconds(500);
    private readonly MachineView _view;
    private readonly Watched[] _groups;

    public GroupWatch(MachineView view)
    {
        _view = view;
        _groups = [.. view.Board.Machine.Groups.Select((group, index) => new Watched(view.Board.Causes.Group(index), [.. group.Axes]))];
    }

    public void Step()
    {
        foreach (var group in _groups)
        {
            if (_view.Board.Latch.IsStanding(group.Cause))
            {
                Look(group);
            }
        }
    }

    private void Look(Watched group)
    {
        var trips = _view.Board.Latch.TripCount(group.Cause);
        if (trips != group.Trips)
        {
            (group.Trips, group.Since, group.SawFault) = (trips, _view.Now, false);
        }

        if (HasFaulted(group))
        {
            group.SawFault = true;
        }
        else if (group.SawFault || _view.Now - group.Since >= UnseenFault)
        {
            _view.Board.Latch.Reset(group.Cause, group.Trips);
        }
    }

    private bool HasFaulted(Watched group)
    {
        foreach (var axis in group.Axes)
        {
            if (_view[axis].State == AxisState.Faulted)
            {
                return true;
            }
        }

        return false;
    }

    private sealed class Watched(int cause, int[] axes)
    {
        public int Cause { get; } = cause;

        public int[] Axes { get; } = axes;

        public int Trips { get; set; } = -1;

        public TimeSpan Since { get; set; }

        public bool SawFault { get; set; }
    }
}
