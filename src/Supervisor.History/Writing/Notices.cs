using Microsoft.Data.Sqlite;
using Supervisor.History.Entries;
using Supervisor.Records;

namespace Supervisor.History.Writing;

/// <summary>What the history says of itself.</summary>
internal static class Notices
{
    public static NoticeRecord RecordsLost(in LostRecords lost, TimeSpan now) => new(
        now, NoticeKind.RecordsLost, lost.Count,
        $"{Counted.Of(lost.Count, "record")}, {Counted.Of(lost.Faults, "fault")} among them, from {lost.First.TotalSeconds:F3} s to {lost.Last.TotalSeconds:F3} s after boot "
        + $"came faster than they could be kept and {(lost.Count == 1 ? "is" : "are")} lost.");

    public static NoticeRecord FileSetAside(string path, string aside, TimeSpan now) => new(
        now, NoticeKind.FileSetAside, 0,
        $"{path} was damaged and is kept as {aside}; this history begins anew. Check the storage: a card that damages files is near its end.");

    public static NoticeRecord DiskBack(TimeSpan failed, long lost, TimeSpan now) => new(
        now, NoticeKind.DiskBack, lost,
        $"The history could not be written for {failed.TotalSeconds:F1} s and is again; "
        + (lost == 0 ? "no record is missing." : $"{Counted.Of(lost, "record")} of that time {(lost == 1 ? "is" : "are")} missing."));

    public static NoticeRecord Sparing(string what, long bytesPerDay, TimeSpan now) => new(
        now, NoticeKind.Sparing, 0,
        $"So many {what} came that their part of {bytesPerDay / 1e6:0.##} MB a day is written. What is new is kept as before; until there is room again, repeats are kept as the first, "
        + "the last and their count. Look for what repeats itself.");

    /// <summary>Why the file can't be written, and what to do.</summary>
    public static string Explain(SqliteException exception, string path) => exception.SqliteErrorCode switch
    {
        3 or 14 => $"{path} can't be opened: check that its folder exists and may be written to.",
        5 or 6 => $"{path} is locked by another program: close it.",
        8 => $"{path} can't be written to: the file or its disk is read-only.",
        10 => $"{path} can't be written to (input/output error): check the disk.",
        11 or 26 => $"{path} is damaged and will be set aside.",
        13 => $"{path} can't grow: the disk is full, free some space.",
        _ => $"{path} can't be written to: {exception.Message}",
    };
}
