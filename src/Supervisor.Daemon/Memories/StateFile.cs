using System.Runtime.InteropServices;
using System.Text.Json;
using Microsoft.Win32.SafeHandles;
using Supervisor.Configuration.Machines;

namespace Supervisor.Daemon.Memories;

/// <summary>A small JSON file of the state folder that has an entry for each axis it knows something of. It is read at the start, and replaced as a whole.</summary>
/// <param name="machine">The machine file, whose axes the entries are about.</param>
/// <param name="folder">The state folder.</param>
/// <param name="name">Name of the file.</param>
internal sealed partial class StateFile(MachineDefinition machine, string folder, string name)
{
    // O_RDONLY | O_CLOEXEC (asm-generic/fcntl.h; alike on x86 and ARM). A folder is opened without O_DIRECTORY, whose number is not.
    private const int ReadOnlyNotInherited = 0x80000;

    /// <summary>Where it is.</summary>
    public string Path { get; } = System.IO.Path.Combine(folder, name);

    /// <summary>Gives the entry of every axis that the machine file still has. A file that is not there gives none.</summary>
    /// <param name="take">Told the axis's index and its entry; what it throws for a member that is missing or no such thing counts as damage.</param>
    /// <returns>What is wrong with the file; null when nothing is. What was taken before is not to be believed then.</returns>
    public string? Read(Action<int, JsonElement> take)
    {
        try
        {
            if (!File.Exists(Path))
            {
                return null;
            }

            using var document = JsonDocument.Parse(File.ReadAllBytes(Path));
            foreach (var entry in document.RootElement.GetProperty("axes").EnumerateArray())
            {
                if (machine.AxisIndex(entry.GetProperty("name").GetString() ?? "") is var axis and >= 0)
                {
                    take(axis, entry);
                }
            }

            return null;
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException or JsonException
            or KeyNotFoundException or InvalidOperationException or FormatException or ArgumentException)
        {
            return $"{Path}: {exception.Message}";
        }
    }

    /// <summary>Replaces the file: after a failure at any instant the old one or the new one is there, and once this has returned the new one is, whatever fails then.</summary>
    /// <param name="isKept">Whether an axis has an entry.</param>
    /// <param name="put">Writes an axis's members behind its name.</param>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(Func<int, bool> isKept, Action<int, Utf8JsonWriter> put)
    {
        var draft = Path + ".new";
        using (var stream = new FileStream(draft, FileMode.Create, FileAccess.Write))
        {
            using (var writer = new Utf8JsonWriter(stream, new JsonWriterOptions { Indented = true }))
            {
                writer.WriteStartObject();
                writer.WriteStartArray("axes");
                for (var axis = 0; axis < machine.Axes.Count; axis++)
                {
                    if (isKept(axis))
                    {
                        writer.WriteStartObject();
                        writer.WriteString("name", machine.Axes[axis].Name);
                        put(axis, writer);
                        writer.WriteEndObject();
                    }
                }

                writer.WriteEndArray();
                writer.WriteEndObject();
            }

            stream.Flush(flushToDisk: true);
        }

        File.Move(draft, Path, overwrite: true);
        SyncFolder();
    }

    /// <summary>The name is on disk only once its folder is (fsync(2), notes).</summary>
    private void SyncFolder()
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
