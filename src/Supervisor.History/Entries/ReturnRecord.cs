using Supervisor.Records.Faults;

namespace Supervisor.History.Entries;

/// <summary>A faulted axis came back, by a person or by itself.</summary>
/// <param name="At">Monotonic time.</param>
/// <param name="Axis">Name of the axis.</param>
/// <param name="Code">The fault it came from.</param>
/// <param name="Step">How far it came.</param>
public sealed record ReturnRecord(TimeSpan At, string Axis, FaultCode Code, ReturnStep Step) : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Return;

    /// <inheritdoc/>
    public override bool IsBulk => true;
}

/// <summary>How far an axis came back after a fault.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum ReturnStep : byte
{
    None = 0,

    /// <summary>Its fault is cleared; it has no torque.</summary>
    Cleared = 1,

    /// <summary>It is energised again for the first time since.</summary>
    Ready = 2,
}
