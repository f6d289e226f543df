namespace Supervisor.Configuration.Reading;

/// <summary>Brings the bytes of a file into memory, or says in words why not.</summary>
internal static class SourceFile
{
    /// <summary>Far above any sensible file; keeps a device node or a log given by mistake from filling a small board's memory.</summary>
    public const int MaximumBytes = 4 * 1024 * 1024;

    /// <summary>The bytes; null with <paramref name="problem"/> set when they can't be had.</summary>
    public static byte[]? Load(string path, out string problem)
    {
        problem = Refuse(path);
        if (problem.Length > 0)
        {
            return null;
        }

        try
        {
            using var stream = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
            return ReadBounded(stream, ref problem);
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            problem = "file not found; check the name and the folder";
        }
        catch (UnauthorizedAccessException)
        {
            problem = "no permission to read the file; check its owner and mode";
        }
        catch (IOException e)
        {
            problem = $"the file can't be read: {Show.OneLine(e.Message)}";
        }

        return null;
    }

    private static string Refuse(string path)
    {
        if (path.Length == 0)
        {
            return "no file name given";
        }

        if (path.Contains('\0', StringComparison.Ordinal))
        {
            return "the file name holds a NUL character";
        }

        return Directory.Exists(path) ? "this is a folder; name the file in it" : "";
    }

    private static byte[]? ReadBounded(FileStream stream, ref string problem)
    {
        using var buffer = new MemoryStream();
        var part = new byte[16 * 1024];
        int count;
        while ((count = stream.Read(part)) > 0)
        {
            buffer.Write(part.AsSpan(0, count));
            if (buffer.Length > MaximumBytes)
            {
                problem = $"the file is larger than {MaximumBytes} bytes; it can't be meant";
                return null;
            }
        }

        return buffer.ToArray();
    }
}
