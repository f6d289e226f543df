using Supervisor.Runtime.Parameters;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// A drive whose parameters are a mixture of two sets gets no torque, whoever ended in the midst of a load; none has torque while one is
/// loaded; and what a load that is done says to be written is in the drive.
/// </summary>
public sealed class Loads : Checker
{
    private readonly Watched[] _axes;

    public Loads(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _axes = [.. world.Machine.Axes.Select(_ => new Watched())];
    }

    /// <inheritdoc/>
    public override void OnPosted(int axis, ParameterJob job)
    {
        if (!job.Writes)
        {
            return;
        }

        var watched = _axes[axis];
        var isWhole = IsWhole(axis);
        watched.IsLeftWhole = isWhole;
        (watched.Job, watched.IsJudged, watched.Serial) = (job, false, World.Drive(axis).SerialNumber);
        watched.Before = [.. job.Entries.Select(entry => Register(axis, entry))];
    }

    /// <inheritdoc/>
    public override void OnKill()
    {
        // Its results are nobody's any more; what it wrote is in the drive all the same.
        foreach (var axis in _axes)
        {
            axis.IsJudged = true;
        }
    }

    /// <inheritdoc/>
    public override void OnStep()
    {
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            if (_axes[axis].Job is { } job)
            {
                LookAtJob(axis, _axes[axis], job);
            }
        }

        LookAtTorque();
    }

    /// <inheritdoc/>
    public override void OnAbsence() => LookAtTorque();

    private void LookAtJob(int axis, Watched watched, ParameterJob job)
    {
        if (job.State == ParameterJobState.Taken && !watched.IsJudged && World.Plant.Drives[axis].Plant.Powered)
        {
            Find(axis, "has torque while a set of parameters is loaded into its drive");
        }

        if (!job.HasEnded || watched.IsJudged)
        {
            return;
        }

        watched.IsJudged = true;
        var isDone = job.State == ParameterJobState.Done
            && Enumerable.Range(0, job.Entries.Count).All(i => job.Result(i).Outcome is ParameterOutcome.AsWanted or ParameterOutcome.Written);
        if (isDone && Now - World.SilentAt(axis) > TimeSpan.FromSeconds(5))
        {
            Looks++;
            foreach (var entry in job.Entries.Where(entry => Register(axis, entry) != entry.Raw))
            {
                Find(axis, $"its load is done, and parameter {entry.Index} is {Register(axis, entry)} instead of {entry.Raw}");
            }
        }
    }

    private void LookAtTorque()
    {
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            var powered = World.Plant.Drives[axis].Plant.Powered;
            if (powered && !_axes[axis].WasPowered && _axes[axis].Job is { } job)
            {
                Looks++;
                if (!IsWhole(axis))
                {
                    Find(axis, $"gets torque while its drive holds a mixture: {string.Join(", ", job.Entries.Select((entry, i) => $"{entry.Index} is {Register(axis, entry)}, was {_axes[axis].Before[i]}, to be {entry.Raw}"))}");
                }
            }

            _axes[axis].WasPowered = powered;
        }
    }

    /// <summary>All of the set that was begun last is there, or nothing of it and all was well before. Another drive holds nothing of it.</summary>
    private bool IsWhole(int axis)
    {
        var watched = _axes[axis];
        if (watched.Job is not { } job || watched.Serial != World.Plant.Drives[axis].SerialNumber)
        {
            return true;
        }

        return job.Entries.All(entry => Register(axis, entry) == entry.Raw)
            || (watched.IsLeftWhole && job.Entries.Select((entry, i) => Register(axis, entry) == watched.Before[i]).All(same => same));
    }

    private long Register(int axis, ParameterEntry entry)
    {
        var drive = World.Plant.Drives[axis];
        return drive.Register(drive.Axis.Drive.Parameters[entry.Index].Name);
    }

    private sealed class Watched
    {
        public ParameterJob? Job { get; set; }

        public uint Serial { get; set; }

        public long[] Before { get; set; } = [];

        public bool IsLeftWhole { get; set; } = true;

        public bool IsJudged { get; set; }

        public bool WasPowered { get; set; }
    }
}
