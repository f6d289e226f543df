using System.Buffers.Binary;
using System.Globalization;
using Microsoft.Data.Sqlite;

namespace Supervisor.History.Storage;

/// <summary>The file as a file: what shape it is in before anyone writes to it, and setting it aside when it is damaged.</summary>
internal static class HistoryFile
{
    /// <summary>Damaged files that are kept; the oldest goes, so that a dying card does not fill itself with them.</summary>
    public const int MaximumSetAside = 3;

    private const int HeaderLength = 100;

    private static ReadOnlySpan<byte> Magic => "SQLite format 3\0"u8;

    /// <summary>Connection string for the one connection that writes, or for one that only reads.</summary>
    /// <remarks>No pool: a closed connection must be closed. One second at most is waited for a lock.</remarks>
    public static string ConnectionString(string path, SqliteOpenMode mode) => new SqliteConnectionStringBuilder
    {
        DataSource = path,
        Mode = mode,
        Pooling = false,
        DefaultTimeout = 1,
    }.ToString();

    /// <summary>Refuses a file this version must not write to, without changing a byte of it. A missing, empty or damaged file passes.</summary>
    /// <exception cref="HistoryException">A newer version wrote it, or it is another program's database.</exception>
    /// <exception cref="IOException">The file can't be read now.</exception>
    /// <exception cref="UnauthorizedAccessException">The file may not be read.</exception>
    public static void RefuseForeign(string path)
    {
        if (TryReadHeader(path) is not { } header)
        {
            return;
        }

        Refuse(path, header);

        // What a killed process wrote last may still be in the log beside the file.
        if (new FileInfo(path + "-wal") is { Exists: true, Length: > 0 } && TryReadThroughLog(path) is { } logged)
        {
            Refuse(path, logged);
        }
    }

    /// <summary>Renames a damaged file and its log out of the way.</summary>
    /// <returns>Its new path.</returns>
    public static string SetAside(string path, DateTimeOffset utc)
    {
        var stamp = utc.UtcDateTime.ToString("yyyyMMdd'T'HHmmss'Z'", CultureInfo.InvariantCulture);
        var aside = $"{path}.corrupt-{stamp}";
        for (var number = 2; File.Exists(aside); number++)
        {
            aside = $"{path}.corrupt-{stamp}-{number}";
        }

        if (File.Exists(path + "-wal"))
        {
            File.Move(path + "-wal", aside + "-wal");
        }

        File.Delete(path + "-shm");
        File.Move(path, aside);
        DropOldest(path);
        return aside;
    }

    private static void DropOldest(string path)
    {
        var folder = Path.GetDirectoryName(Path.GetFullPath(path))!;
        var kept = Directory.EnumerateFiles(folder, Path.GetFileName(path) + ".corrupt-*")
            .Where(file => !file.EndsWith("-wal", StringComparison.Ordinal))
            .OrderByDescending(File.GetLastWriteTimeUtc)
            .ThenByDescending(file => file, StringComparer.Ordinal);
        foreach (var old in kept.Skip(MaximumSetAside))
        {
            File.Delete(old);
            File.Delete(old + "-wal");
        }
    }

    // Database header, offsets 40 (schema cookie), 60 (user version), 68 (application id), big-endian: sqlite.org/fileformat2.html, 1.3.
    private static Shape? TryReadHeader(string path)
    {
        if (!File.Exists(path))
        {
            return null;
        }

        Span<byte> header = stackalloc byte[HeaderLength];
        using var file = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
        if (file.ReadAtLeast(header, HeaderLength, throwOnEndOfStream: false) < HeaderLength || !IsSound(header))
        {
            return null;
        }

        return new Shape(
            BinaryPrimitives.ReadInt32BigEndian(header[40..]) != 0,
            BinaryPrimitives.ReadInt32BigEndian(header[60..]),
            BinaryPrimitives.ReadInt32BigEndian(header[68..]));
    }

    // Payload fractions 64, 32, 32 at 21 (as text "@  "); text encoding 1 to 3 at 56; zeros from 72 to 91: a header without them is damaged, whatever else it says.
    private static bool IsSound(ReadOnlySpan<byte> header) =>
        header.StartsWith(Magic)
        && header[21..24].SequenceEqual("@  "u8)
        && BinaryPrimitives.ReadInt32BigEndian(header[56..]) is >= 0 and <= 3
        && !header[72..92].ContainsAnyExcept((byte)0);

    private static Shape? TryReadThroughLog(string path)
    {
        try
        {
            using var connection = new SqliteConnection(ConnectionString(path, SqliteOpenMode.ReadOnly));
            connection.Open();
            return new Shape(
                connection.Scalar("PRAGMA schema_version") != 0,
                (int)connection.Scalar("PRAGMA user_version"),
                (int)connection.Scalar("PRAGMA application_id"));
        }
        catch (SqliteException)
        {
            return null;
        }
    }

    private static void Refuse(string path, Shape shape)
    {
        if (shape.ApplicationId != Schema.ApplicationId && shape != default)
        {
            throw new HistoryException($"{path} is a database of another program; give the history a path of its own.");
        }

        if (shape.Version > Schema.Version)
        {
            throw new HistoryException(
                $"{path} was written by a newer version of axis-supervisor (shape {shape.Version}, this version writes {Schema.Version}); "
                + "it is left untouched: run the newer version, or move the file away to begin a new history.");
        }
    }

    /// <summary>What tells whose file it is; all zero in a database nobody has made a table in.</summary>
    private readonly record struct Shape(bool HasTables, int Version, int ApplicationId);
}
