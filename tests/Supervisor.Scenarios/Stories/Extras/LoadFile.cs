using Supervisor.Runtime.Parameters;

namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>The file with loads of parameters that have begun and were not seen to end, kept as the daemon keeps it: on disk before the first register is written.</summary>
public sealed class LoadFile(StoryWorld world)
{
    private readonly UnfinishedSet?[] _sets = new UnfinishedSet?[world.Machine.Axes.Count];
    private readonly (ParameterJob Job, UnfinishedSet? Before)?[] _loads = new (ParameterJob, UnfinishedSet?)?[world.Machine.Axes.Count];

    /// <summary>A planted bug: a supervisor that starts reads nothing of it.</summary>
    public bool IsForgotten { get; set; }

    /// <summary>What a supervisor that starts now reads. No load of another one is under way.</summary>
    public UnfinishedSet?[] Read()
    {
        Array.Clear(_loads);
        return IsForgotten ? new UnfinishedSet?[_sets.Length] : [.. _sets];
    }

    /// <summary>True when a set may be in the axis's drive only in part.</summary>
    public bool IsUnfinished(int axis) => _sets[axis] is not null;

    /// <summary>Writes down that a load is about to begin; false when the disk does not take it, or another load of the axis is under way.</summary>
    public bool TryBegin(int axis, ParameterJob job)
    {
        if (!world.Disk.IsGood || _loads[axis] is { Job.HasEnded: false })
        {
            return false;
        }

        Settle(axis);
        _loads[axis] = (job, _sets[axis]);
        _sets[axis] = new UnfinishedSet(job.Entries, job.Saves);
        return true;
    }

    /// <summary>Takes in how the load of an axis ended, or that it was never given to it.</summary>
    public void Settle(int axis, bool wasPosted = true)
    {
        if (_loads[axis] is not { } load || (wasPosted && !load.Job.HasEnded))
        {
            return;
        }

        _loads[axis] = null;
        var isBegun = wasPosted && load.Job.State is not (ParameterJobState.Refused or ParameterJobState.Withdrawn);
        var set = !isBegun ? load.Before : load.Job.LeavesSetWhole ? null : _sets[axis];

        // A failure leaves more on disk than is so.
        _sets[axis] = world.Disk.IsGood ? set : _sets[axis];
    }
}
