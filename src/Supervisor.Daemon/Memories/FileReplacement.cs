using System.Runtime.InteropServices;
using System.Text.Json;
using Microsoft.Win32.SafeHandles;

namespace Supervisor.Daemon.Memories;

/// <summary>Replaces a JSON file as a whole.</summary>
internal static partial class FileReplacement
{
    // O_RDONLY | O_CLOEXEC (asm-generic/fcntl.h; alike on x86 and ARM). A folder is opened without O_DIRECTORY, whose number is not.
    private const int ReadOnlyNotInherited = 0x80000;

    /// <summary>After a failure at any instant the old file or the new one is there, and once this has returned the new one is, whatever fails then.</summary>
    /// <param name="path">The file.</param>
    /// <param name="put">Writes the members of its one object.</param>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public static void Replace(string path, Action<Utf8JsonWriter> put)
    {
        var draft = path + ".new";
        using (var stream = new FileStream(draft, FileMode.Create, FileAccess.Write))
        {
            using (var writer = new Utf8JsonWriter(stream, new JsonWriterOptions { Indented = true }))
            {
                writer.WriteStartObject();
                put(writer);
                writer.WriteEndObject();
            }

            stream.Flush(flushToDisk: true);
        }

        File.Move(draft, path, overwrite: true);
        SyncFolder(Path.GetDirectoryName(path)!);
    }

    /// <summary>The name is on disk only once its folder is (fsync(2), notes).</summary>
    private static void SyncFolder(string folder)
    {
        if (!OperatingSystem.IsLinux())
        {
            return;
        }

        using var handle = Open(folder, ReadOnlyNotInherited);
        if (handle.IsInvalid || Sync(handle) != 0)
        {
            throw new IOException($"{folder}: {Marshal.GetLastPInvokeErrorMessage()}");
        }
    }

    [LibraryImport("libc", EntryPoint = "open", StringMarshalling = StringMarshalling.Utf8, SetLastError = true)]
    private static partial SafeFileHandle Open(string path, int flags);

    [LibraryImport("libc", EntryPoint = "fsync", SetLastError = true)]
    private static partial int Sync(SafeFileHandle file);
}
