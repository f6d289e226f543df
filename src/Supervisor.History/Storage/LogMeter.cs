using System.Buffers.Binary;
using Microsoft.Data.Sqlite;
using SQLitePCL;

namespace Supervisor.History.Storage;

/// <summary>
/// Counts what the writing connection hands to the file system: pages appended to the log as SQLite counts them, and pages copied from the log into
/// the file as the log's frames tell. The index beside the log (<c>-shm</c>) is memory shared through a file and is not in it.
/// </summary>
/// <remarks>Layout of the log: sqlite.org/fileformat2.html, 4.1: header of 32 bytes, salts at 16; frames of 24 bytes and a page, the page's number first.</remarks>
internal sealed class LogMeter
{
    private const int LogHeader = 32, FrameHeader = 24, SaltsAt = 16;

    private readonly SqliteConnection _connection;
    private readonly string _logPath;
    private readonly int _pageSize;
    private readonly HashSet<uint> _pages = [];
    private int _pagesLogged;
    private ulong _salts;
    private int _folded;

    public LogMeter(SqliteConnection connection, string path)
    {
        _connection = connection;
        _logPath = path + "-wal";
        _pageSize = (int)connection.Scalar("PRAGMA page_size");
        _pagesLogged = PagesLogged();
    }

    /// <summary>Bytes since it was made.</summary>
    public long Bytes { get; private set; }

    /// <summary>Frames logged since the log was last folded in as a whole.</summary>
    public int Frames { get; private set; }

    /// <summary>To be called after a commit.</summary>
    public void Committed()
    {
        var pages = PagesLogged();
        Bytes += (long)(pages - _pagesLogged) * (FrameHeader + _pageSize);
        Frames += pages - _pagesLogged;
        _pagesLogged = pages;
    }

    /// <summary>Copies the log into the file as far as readers permit, synced, and counts it.</summary>
    /// <returns>True when the whole log is in the file now.</returns>
    /// <exception cref="SqliteException">The disk is at fault.</exception>
    public bool Fold()
    {
        var result = raw.sqlite3_wal_checkpoint_v2(_connection.Handle, "main", raw.SQLITE_CHECKPOINT_PASSIVE, out var frames, out var folded);
        if (result == raw.SQLITE_BUSY)
        {
            return false;
        }

        SqliteException.ThrowExceptionForRC(result, _connection.Handle);
        CountFolded(folded);
        var isWhole = frames == folded;
        Frames = isWhole ? 0 : Frames;
        return isWhole;
    }

    /// <summary>As <see cref="Fold"/>, and makes the log empty.</summary>
    /// <exception cref="SqliteException">The disk is at fault, or a reader is in the way for longer than a second (SQLITE_BUSY).</exception>
    public void FoldAndEmpty()
    {
        Fold();
        SqliteException.ThrowExceptionForRC(
            raw.sqlite3_wal_checkpoint_v2(_connection.Handle, "main", raw.SQLITE_CHECKPOINT_TRUNCATE, out _, out _), _connection.Handle);
        Frames = 0;
    }

    // What a page is copied for is its newest frame; a log that began anew has other salts.
    private void CountFolded(int folded)
    {
        if (folded <= 0 || !File.Exists(_logPath))
        {
            return;
        }

        using var log = File.OpenHandle(_logPath, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
        Span<byte> bytes = stackalloc byte[8];
        if (RandomAccess.Read(log, bytes, SaltsAt) != bytes.Length)
        {
            return;
        }

        var salts = BinaryPrimitives.ReadUInt64BigEndian(bytes);
        if (salts != _salts)
        {
            (_salts, _folded) = (salts, 0);
            Bytes += LogHeader;
        }

        _pages.Clear();
        for (var frame = _folded; frame < folded; frame++)
        {
            if (RandomAccess.Read(log, bytes[..4], LogHeader + ((long)frame * (FrameHeader + _pageSize))) == 4)
            {
                _pages.Add(BinaryPrimitives.ReadUInt32BigEndian(bytes));
            }
        }

        Bytes += (long)_pages.Count * _pageSize;
        _folded = folded;
    }

    private int PagesLogged()
    {
        raw.sqlite3_db_status(_connection.Handle, raw.SQLITE_DBSTATUS_CACHE_WRITE, out var pages, out _, 0);
        return pages;
    }
}
