namespace Supervisor.Machine.Interlocks;

/// <summary>The reader of file inputs on a real machine.</summary>
public static class InputFile
{
    /// <summary>Reads one character: '1' closed, '0' open; null for anything else, and when the file cannot be read. Never throws.</summary>
    public static bool? Read(string path)
    {
        try
        {
            using var file = File.OpenRead(path);
            return file.ReadByte() switch
            {
                '1' => true,
                '0' => false,
                _ => null,
            };
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            return null;
        }
    }
}
