using System.Text;

namespace Supervisor.Daemon.Hosting;

/// <summary>
/// A small file, opened while all is well, that takes the last words of a process that breaks: the history's own thread may be what broke.
/// The next start reads it into the history.
/// </summary>
/// <remarks>Never throws after it was opened: last words that can't be kept must not hide what happened.</remarks>
internal sealed class BlackBox : IDisposable
{
    /// <summary>Most bytes kept.</summary>
    private const int MaximumBytes = 4_096;

    private readonly Lock _lock = new();
    private readonly FileStream? _file;
    private readonly long _handedOut;

    private BlackBox(FileStream? file)
    {
        _file = file;
        _handedOut = file?.Length ?? 0;
    }

    /// <summary>Opens the file and hands out what the run before left in it.</summary>
    /// <param name="path">Path of the file.</param>
    /// <param name="lastWords">What is in it; empty when the run before left nothing.</param>
    /// <param name="problem">Why it can't be used; empty when it can. The daemon runs on without.</param>
    public static BlackBox Open(string path, out string lastWords, out string problem)
    {
        lastWords = "";
        problem = "";
        try
        {
            var file = new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.Read, 1, FileOptions.WriteThrough);
            lastWords = Read(file);
            return new BlackBox(file);
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            problem = $"{path}: {exception.Message}; if this process breaks, only the log will tell why";
            return new BlackBox(null);
        }
    }

    /// <summary>Forgets what <see cref="Open"/> handed out, once the history has it; not when more was written since.</summary>
    public void Forget()
    {
        try
        {
            lock (_lock)
            {
                if (_file is { CanWrite: true } file && file.Length == _handedOut)
                {
                    file.SetLength(0);
                    file.Flush(flushToDisk: true);
                }
            }
        }
        catch (IOException)
        {
            // Then it is told twice.
        }
    }

    /// <summary>Keeps last words behind those already there. Any thread, also from an exception handler.</summary>
    public void Write(string words)
    {
        try
        {
            lock (_lock)
            {
                if (_file is { } file && file.Length < MaximumBytes)
                {
                    var bytes = Encoding.UTF8.GetBytes(words.ReplaceLineEndings(" ") + "\n");
                    file.Seek(0, SeekOrigin.End);
                    file.Write(bytes, 0, Math.Min(bytes.Length, (int)(MaximumBytes - file.Length)));
                    file.Flush(flushToDisk: true);
                }
            }
        }
#pragma warning disable CA1031 // It is called from the last handler there is.
        catch (Exception)
#pragma warning restore CA1031
        {
        }
    }

    public void Dispose()
    {
        lock (_lock)
        {
            _file?.Dispose();
        }
    }

    private static string Read(FileStream file)
    {
        var bytes = new byte[(int)Math.Min(file.Length, MaximumBytes)];
        var read = file.ReadAtLeast(bytes, bytes.Length, throwOnEndOfStream: false);
        return Encoding.UTF8.GetString(bytes, 0, read).Trim();
    }
}
