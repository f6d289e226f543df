using Supervisor.History.Entries;
using Supervisor.Records.Faults;

namespace Supervisor.History.Reading;

/// <summary>Which records to read. Members left out let everything pass.</summary>
public sealed record HistoryFilter
{
    /// <summary>Kinds wanted; empty: all.</summary>
    public IReadOnlyList<RecordKind> Kinds { get; init; } = [];

    /// <summary>Name of the axis.</summary>
    public string? Axis { get; init; }

    /// <summary>Code of a fault, or of the fault a recovery or a command had to do with.</summary>
    public FaultCode? Code { get; init; }

    /// <summary>Class of a fault.</summary>
    public FaultClass? Class { get; init; }

    /// <summary>Number of an incident.</summary>
    public long? Incident { get; init; }

    /// <summary>Part of a name, a message, a note, a command, a holder, or of the name of a fault; A to Z in either case.</summary>
    public string? Text { get; init; }

    /// <summary>Earliest time of day, as it is shown.</summary>
    public DateTimeOffset? Since { get; init; }

    /// <summary>Only records before this time of day, as it is shown.</summary>
    public DateTimeOffset? Until { get; init; }

    /// <summary>Only records with a lower sequence number: the next page of the newest first.</summary>
    public long? BeforeSequence { get; init; }

    /// <summary>Only records with a higher sequence number: what is new.</summary>
    public long? AfterSequence { get; init; }

    /// <summary>The oldest first.</summary>
    public bool OldestFirst { get; init; }

    /// <summary>Records of a page, 1 to <see cref="MaximumLimit"/>; what is outside is brought inside.</summary>
    public int Limit { get; init; } = 100;

    /// <summary>Most records of a page.</summary>
    public const int MaximumLimit = 1_000;
}
