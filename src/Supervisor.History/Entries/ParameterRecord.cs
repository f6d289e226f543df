namespace Supervisor.History.Entries;

/// <summary>A drive's parameter was changed, or may have been.</summary>
/// <param name="At">Monotonic time at which the set it was part of had ended.</param>
/// <param name="Axis">Name of the axis.</param>
/// <param name="Parameter">Its name in the drive definition.</param>
/// <param name="Unit">Its unit; may be empty.</param>
/// <param name="Wanted">What was written; NaN when not known.</param>
/// <param name="Outcome">What became of it.</param>
public sealed record ParameterRecord(TimeSpan At, string Axis, string Parameter, string Unit, double Wanted, ParameterChange Outcome) : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Parameter;

    /// <summary>What the drive had; null when it could not be read.</summary>
    public double? Before { get; init; }

    /// <summary>What was read back; null when it could not be read.</summary>
    public double? After { get; init; }

    /// <summary>Who asked; empty when not known.</summary>
    public string Holder { get; init; } = "";
}

/// <summary>What became of a parameter that was written.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum ParameterChange : byte
{
    None = 0,

    /// <summary>Written, and read back where it can be.</summary>
    Written = 1,

    /// <summary>Written, but another value was read back.</summary>
    NotTaken = 2,

    /// <summary>The drive refused it.</summary>
    Rejected = 3,

    /// <summary>It was sent and the drive was lost: it may have arrived or not.</summary>
    Unknown = 4,
}
