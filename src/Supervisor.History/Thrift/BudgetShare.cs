using Supervisor.History.Entries;

namespace Supervisor.History.Thrift;

/// <summary>Kinds of records that share a part of the bytes a day, so that a storm of one leaves the others theirs.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
internal enum BudgetShare : byte
{
    /// <summary>Faults, and the life of alarms.</summary>
    Faults = 0,

    /// <summary>Stops, recoveries, returns, links: what follows from faults.</summary>
    Consequences = 1,

    Interlocks = 2,
    Commands = 3,

    /// <summary>Starts, ends, what the history says of itself, and all else: never collapsed, as none of them comes in storms.</summary>
    Others = 4,
}

/// <summary>Whose part a record takes, and how large the parts are.</summary>
internal static class BudgetShares
{
    /// <summary>Percent of the budget, by share.</summary>
    public static ReadOnlySpan<byte> Percent => [40, 15, 15, 15, 15];

    public static BudgetShare Of(RecordKind kind) => kind switch
    {
        RecordKind.Fault or RecordKind.Alarm => BudgetShare.Faults,
        RecordKind.Stop or RecordKind.Recovery or RecordKind.Return or RecordKind.Link => BudgetShare.Consequences,
        RecordKind.Interlock => BudgetShare.Interlocks,
        RecordKind.Command => BudgetShare.Commands,
        _ => BudgetShare.Others,
    };

    /// <summary>Its records, for a person.</summary>
    public static string Name(this BudgetShare share) => share switch
    {
        BudgetShare.Faults => "faults and alarms",
        BudgetShare.Consequences => "stops, recoveries and links that come and go",
        BudgetShare.Interlocks => "changes of interlocks",
        BudgetShare.Commands => "commands",
        _ => "other records",
    };
}
