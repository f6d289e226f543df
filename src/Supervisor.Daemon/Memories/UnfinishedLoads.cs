using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Daemon.Memories;

/// <summary>
/// Which loads of parameters have begun and not been seen to end. It is on disk before the first register is written, so that a drive that may hold a
/// mixture of two sets is found after the supervisor ended in the midst, however it ended. Thread-safe; waits for the disk.
/// </summary>
public sealed partial class UnfinishedLoads
{
    private readonly Lock _gate = new();
    private readonly UnfinishedLoadFile _file;
    private readonly ILogger _logger;
    private readonly UnfinishedSet?[] _sets;
    private readonly Load?[] _loads;

    /// <param name="machine">The machine file.</param>
    /// <param name="folder">The state folder.</param>
    /// <param name="logger">The log.</param>
    public UnfinishedLoads(MachineDefinition machine, string folder, ILogger logger)
    {
        ArgumentNullException.ThrowIfNull(machine);
        _file = new UnfinishedLoadFile(machine, folder);
        _logger = logger;
        _sets = _file.Read(out var problem);
        _loads = new Load?[_sets.Length];
        Remembered = [.. _sets];
        if (problem is not null)
        {
            LogNotRead(problem);
        }
    }

    /// <summary>Where they are kept.</summary>
    public string Path => _file.Path;

    /// <summary>What the run before left, in the machine file's order.</summary>
    public IReadOnlyList<UnfinishedSet?> Remembered { get; }

    /// <summary>Writes down that a load is about to begin; false while another one of this axis is under way.</summary>
    /// <exception cref="IOException">It could not be written: the load must not begin.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public bool TryBegin(int axis, ParameterJob job)
    {
        ArgumentNullException.ThrowIfNull(job);
        lock (_gate)
        {
            if (_loads[axis] is { Job.HasEnded: false })
            {
                return false;
            }

            Take(axis);
            var before = _sets[axis];
            _sets[axis] = new UnfinishedSet([.. job.Entries], job.Saves);
            try
            {
                _file.Write(_sets);
            }
            catch
            {
                _sets[axis] = before;
                throw;
            }

            _loads[axis] = new Load(job, before);
            return true;
        }
    }

    /// <summary>The load that was written down was never given to its axis.</summary>
    public void NotBegun(int axis, ParameterJob job)
    {
        lock (_gate)
        {
            if (_loads[axis] is { } load && load.Job == job)
            {
                _loads[axis] = null;
                Put(axis, load.Before);
            }
        }
    }

    /// <summary>Looks at the load of an axis: one that has ended as it must is forgotten.</summary>
    public void Settle(int axis)
    {
        lock (_gate)
        {
            Take(axis);
        }
    }

    /// <summary>The axis has read its whole set back as it was to be.</summary>
    public void Proven(int axis)
    {
        lock (_gate)
        {
            if (_loads[axis] is null or { Job.HasEnded: true })
            {
                _loads[axis] = null;
                Put(axis, null);
            }
        }
    }

    private void Take(int axis)
    {
        if (_loads[axis] is not { Job.HasEnded: true } load)
        {
            return;
        }

        _loads[axis] = null;
        if (load.Job.State is ParameterJobState.Refused or ParameterJobState.Withdrawn)
        {
            Put(axis, load.Before);
        }
        else if (load.Job.LeavesSetWhole)
        {
            Put(axis, null);
        }
    }

    /// <summary>A failure leaves more on disk than is so: after a restart the axis is held for nothing, never used for nothing.</summary>
    private void Put(int axis, UnfinishedSet? set)
    {
        if (_sets[axis] is null && set is null)
        {
            return;
        }

        _sets[axis] = set;
        try
        {
            _file.Write(_sets);
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            LogNotWritten(Path, exception);
        }
    }

    [LoggerMessage(1032, LogLevel.Error, "{Path} could not be written: after a restart an axis may be held until its set is loaded again", EventName = "UnfinishedLoadsNotWritten")]
    private partial void LogNotWritten(string path, Exception exception);

    [LoggerMessage(1033, LogLevel.Error, "{Problem}", EventName = "UnfinishedLoadsNotRead")]
    private partial void LogNotRead(string problem);

    private sealed record Load(ParameterJob Job, UnfinishedSet? Before);
}
