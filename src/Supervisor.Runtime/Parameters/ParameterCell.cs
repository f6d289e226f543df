using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Parameters;

/// <summary>What is known of one parameter of a drive.</summary>
public struct ParameterSnapshot
{
    /// <summary>Monotonic time of the last reading; zero: never read.</summary>
    public TimeSpan At;

    /// <summary>Raw bits as last read.</summary>
    public uint Raw;

    /// <summary>Times it was written since the supervisor's start.</summary>
    public int Writes;

    /// <summary>What was done when it last differed from the machine file; none when it does not.</summary>
    public ParameterMeasure Measure;

    /// <summary>True when it was read.</summary>
    public readonly bool IsKnown => At > TimeSpan.Zero;
}

/// <summary>The parameters of one axis's drive as other threads see them: what is known of each, and the job in hand.</summary>
public sealed class ParameterCell
{
    private ParameterJob? _job;

    internal ParameterCell(int parameters) => Known = [.. Enumerable.Range(0, parameters).Select(_ => new SnapshotCell<ParameterSnapshot>())];

    /// <summary>What is known, by the drive definition's parameters; written by the port's stepper.</summary>
    public IReadOnlyList<SnapshotCell<ParameterSnapshot>> Known { get; }

    /// <summary>The job in hand; null when there is none.</summary>
    public ParameterJob? Job => Volatile.Read(ref _job);

    /// <summary>Posts a job; false while another is in hand. Any thread.</summary>
    public bool TryPost(ParameterJob job)
    {
        ArgumentNullException.ThrowIfNull(job);
        var held = Volatile.Read(ref _job);
        return (held is null || held.HasEnded) && Interlocked.CompareExchange(ref _job, job, held) == held;
    }
}
