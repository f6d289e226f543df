using System.Text.Json;
using Supervisor.Configuration.Machines;

namespace Supervisor.Daemon.Memories;

/// <summary>A small JSON file of the state folder that has an entry for each axis, or other thing, it knows something of. It is read at the start, and replaced as a whole.</summary>
/// <param name="folder">The state folder.</param>
/// <param name="name">Name of the file.</param>
/// <param name="list">Name of its one member, such as axes.</param>
/// <param name="names">Names of the things that the entries may be about, in the machine file's order.</param>
internal sealed class StateFile(string folder, string name, string list, IReadOnlyList<string> names)
{
    /// <summary>A file with entries for axes.</summary>
    /// <param name="machine">The machine file, whose axes the entries are about.</param>
    /// <param name="folder">The state folder.</param>
    /// <param name="name">Name of the file.</param>
    public StateFile(MachineDefinition machine, string folder, string name)
        : this(folder, name, "axes", [.. machine.Axes.Select(axis => axis.Name)])
    {
    }

    /// <summary>Where it is.</summary>
    public string Path { get; } = System.IO.Path.Combine(folder, name);

    /// <summary>Gives the entry of everything that the machine file still has. A file that is not there gives none.</summary>
    /// <param name="take">Told the index of what an entry is about, and the entry; what it throws for a member that is missing or no such thing counts as damage.</param>
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
            foreach (var entry in document.RootElement.GetProperty(list).EnumerateArray())
            {
                if (IndexOf(entry.GetProperty("name").GetString()) is var index and >= 0)
                {
                    take(index, entry);
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
    /// <param name="isKept">Whether a thing has an entry.</param>
    /// <param name="put">Writes its members behind its name.</param>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(Func<int, bool> isKept, Action<int, Utf8JsonWriter> put)
    {
        FileReplacement.Replace(Path, writer =>
        {
            writer.WriteStartArray(list);
            for (var index = 0; index < names.Count; index++)
            {
                if (isKept(index))
                {
                    writer.WriteStartObject();
                    writer.WriteString("name", names[index]);
                    put(index, writer);
                    writer.WriteEndObject();
                }
            }

            writer.WriteEndArray();
        });
    }

    private int IndexOf(string? name)
    {
        for (var index = 0; index < names.Count; index++)
        {
            if (names[index] == name)
            {
                return index;
            }
        }

        return -1;
    }
}
