using System.Text.Json;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Daemon.Hosting;

/// <summary>
/// The file in the state folder that names the axes whose parameters were begun to be loaded, with what was to be written. One that can't be understood
/// names every axis whose drive has parameters to load.
/// </summary>
internal sealed class UnfinishedLoadFile(MachineDefinition machine, string folder)
{
    private const string FileName = "unfinished-loads.json";

    private static readonly UnfinishedSet Unknown = new([], Saves: true);

    /// <summary>Where it is.</summary>
    public string Path { get; } = System.IO.Path.Combine(folder, FileName);

    /// <summary>What was begun for each axis, in the machine file's order; null for one whose drive is whole.</summary>
    /// <param name="problem">What is wrong with the file and what follows; null when it is good.</param>
    public UnfinishedSet?[] Read(out string? problem)
    {
        problem = null;
        var sets = new UnfinishedSet?[machine.Axes.Count];
        try
        {
            if (File.Exists(Path))
            {
                using var document = JsonDocument.Parse(File.ReadAllBytes(Path));
                foreach (var entry in document.RootElement.GetProperty("axes").EnumerateArray())
                {
                    if (machine.AxisIndex(entry.GetProperty("name").GetString() ?? "") is var axis and >= 0)
                    {
                        sets[axis] = Take(entry, machine.Axes[axis].Drive);
                    }
                }
            }
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException or JsonException
            or KeyNotFoundException or InvalidOperationException or FormatException or ArgumentException)
        {
            problem = $"{Path}: {exception.Message}: every axis whose drive has parameters is held until its set is loaded; "
                + "where no load was under way, end the daemon and delete the file";
            for (var axis = 0; axis < sets.Length; axis++)
            {
                sets[axis] = machine.Axes[axis].Drive.Parameters.Any(field => field.Access != RegisterAccess.Read) ? Unknown : null;
            }
        }

        return sets;
    }

    /// <summary>Replaces the file as a whole: after a failure at any instant the old one or the new one is there.</summary>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(IReadOnlyList<UnfinishedSet?> sets)
    {
        var draft = Path + ".new";
        using (var stream = new FileStream(draft, FileMode.Create, FileAccess.Write))
        {
            using (var writer = new Utf8JsonWriter(stream, new JsonWriterOptions { Indented = true }))
            {
                writer.WriteStartObject();
                writer.WriteStartArray("axes");
                for (var axis = 0; axis < sets.Count; axis++)
                {
                    if (sets[axis] is { } set)
                    {
                        Put(writer, machine.Axes[axis], set);
                    }
                }

                writer.WriteEndArray();
                writer.WriteEndObject();
            }

            stream.Flush(flushToDisk: true);
        }

        File.Move(draft, Path, overwrite: true);
    }

    /// <summary>A drive definition that was changed since may know a name no more: then nobody knows what the set was.</summary>
    private static UnfinishedSet Take(JsonElement entry, DriveDefinition drive)
    {
        var entries = new List<ParameterEntry>();
        foreach (var parameter in entry.GetProperty("parameters").EnumerateArray())
        {
            var name = parameter.GetProperty("name").GetString();
            var index = drive.Parameters.ToList().FindIndex(field => field.Name == name);
            if (index < 0)
            {
                return Unknown;
            }

            entries.Add(new ParameterEntry((short)index, parameter.GetProperty("raw").GetUInt32()));
        }

        return new UnfinishedSet(entries, entry.GetProperty("saves").GetBoolean());
    }

    private static void Put(Utf8JsonWriter writer, AxisDefinition axis, UnfinishedSet set)
    {
        writer.WriteStartObject();
        writer.WriteString("name", axis.Name);
        writer.WriteBoolean("saves", set.Saves);
        writer.WriteStartArray("parameters");
        foreach (var entry in set.Entries)
        {
            writer.WriteStartObject();
            writer.WriteString("name", axis.Drive.Parameters[entry.Index].Name);
            writer.WriteNumber("raw", entry.Raw);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    }
}
