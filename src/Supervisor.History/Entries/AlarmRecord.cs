using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.History.Entries;

/// <summary>A step in the life of an alarm: acknowledged, out of service and back, and for alarms of the machine file raised and cleared.</summary>
/// <param name="At">Monotonic time.</param>
/// <param name="Number">Number of the alarm: of the fault catalogue, or from <see cref="AlarmKey.FirstOwn"/> on of the machine file.</param>
/// <param name="SourceKind">Of what kind its source is.</param>
/// <param name="Source">Name of its source; empty for the machine.</param>
/// <param name="Change">What happened.</param>
public sealed record AlarmRecord(TimeSpan At, int Number, AlarmSourceKind SourceKind, string Source, AlarmChange Change) : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Alarm;

    /// <summary>An end explains; what people did, and what calls them, is on the disk at once.</summary>
    public override bool IsBulk => Change == AlarmChange.Cleared;

    /// <summary>Who did it; empty where nobody did.</summary>
    public string By { get; init; } = "";

    /// <summary>The reason given, or what the alarm is about; may be empty.</summary>
    public string Text { get; init; } = "";

    /// <summary>How urgent it is, for alarms of the machine file.</summary>
    public FaultPriority Priority { get; init; }

    /// <summary>An alarm of the machine file for which somebody is called: it leads an incident, or joins the one that is under way.</summary>
    public bool IsCall => Change == AlarmChange.Raised && Number >= AlarmKey.FirstOwn && Priority >= FaultPriority.Medium;

    /// <summary>For how long it is out of service; null for all else.</summary>
    public TimeSpan? For { get; init; }

    /// <summary>Name of the axis; null where it is about none.</summary>
    public string? Axis => SourceKind == AlarmSourceKind.Axis ? Source : null;

    /// <summary>Name of the port; null where it is about none.</summary>
    public string? Port => SourceKind == AlarmSourceKind.Port ? Source : null;
}
