using Microsoft.Data.Sqlite;
using Supervisor.History.Entries;
using Supervisor.History.Storage;

namespace Supervisor.History.Writing;

/// <summary>
/// Holds the storage open through every trouble: opens it anew after a failure, sets a damaged file aside, and knows since when it fails and why.
/// Used by the writer's thread alone.
/// </summary>
/// <param name="options">Clock and path.</param>
/// <param name="open">Opens the place where records stay; its exceptions are those of a disk.</param>
internal sealed class StorageKeeper(HistoryOptions options, Func<IHistoryStorage> open)
{
    private IHistoryStorage? _storage;
    private bool _isDamaged;

    /// <summary>Monotonic time of the first failed attempt of a row; null while good.</summary>
    public TimeSpan? FailingSince { get; private set; }

    /// <summary>Why it fails and what to do; empty while good.</summary>
    public string Problem { get; private set; } = "";

    /// <summary>What is to be recorded of it.</summary>
    public Queue<NoticeRecord> Notices { get; } = new();

    /// <summary>Number of the file in use: how many were set aside since the start.</summary>
    public int FileNumber { get; private set; }

    /// <summary>Takes a file for damaged, unless another is in use by now: the next attempt sets it aside.</summary>
    public void Condemn(int fileNumber)
    {
        if (fileNumber == FileNumber)
        {
            Close();
            _isDamaged = true;
        }
    }

    /// <summary>Does something with the disk; false when that failed in a way that may pass, which closes the storage.</summary>
    public bool Attempt(Action<IHistoryStorage> action)
    {
        try
        {
            action(Opened());
            return true;
        }
        catch (SqliteException exception) when (exception.IsDamage() || exception.MayPass())
        {
            _isDamaged |= exception.IsDamage();
            Failed(Writing.Notices.Explain(exception, options.Path));
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException or HistoryException)
        {
            Failed(exception.Message);
        }

        return false;
    }

    /// <summary>Records reach the disk, again or still.</summary>
    /// <returns>How long they did not; null when they did all along.</returns>
    public TimeSpan? Succeeded(TimeSpan now)
    {
        var failed = now - FailingSince;
        (FailingSince, Problem) = (null, "");
        return failed;
    }

    /// <summary>Lets go of it.</summary>
    public void Close()
    {
        _storage?.Dispose();
        _storage = null;
    }

    private IHistoryStorage Opened()
    {
        if (_storage is not null)
        {
            return _storage;
        }

        if (!_isDamaged)
        {
            try
            {
                return _storage = open();
            }
            catch (SqliteException exception) when (exception.IsDamage())
            {
                _isDamaged = true;
            }
        }

        var now = options.Clock();
        var aside = HistoryFile.SetAside(options.Path, now.Utc);
        _isDamaged = false;
        FileNumber++;
        Notices.Enqueue(Writing.Notices.FileSetAside(options.Path, aside, now.Monotonic));
        return _storage = open();
    }

    private void Failed(string message)
    {
        Close();
        FailingSince ??= options.Clock().Monotonic;
        Problem = message;
    }
}
