using System.Text.Json;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Recovery;

namespace Supervisor.Daemon.Hosting;

/// <summary>The file in the state folder that names the axes which go slowly since they did not follow. One that can't be understood gives every axis that may be one of them.</summary>
internal sealed class ReducedSpeedFile(MachineDefinition machine, string folder)
{
    private const string FileName = "reduced-speeds.json";
    private const double Full = 100;

    /// <summary>Where it is.</summary>
    public string Path { get; } = System.IO.Path.Combine(folder, FileName);

    /// <summary>What an earlier run left, in the machine file's order.</summary>
    /// <param name="problem">What is wrong with the file and what follows; null when it is good.</param>
    public ReducedSpeedNote[] Read(out string? problem)
    {
        problem = null;
        var notes = new ReducedSpeedNote[machine.Axes.Count];
        try
        {
            if (File.Exists(Path))
            {
                using var document = JsonDocument.Parse(File.ReadAllBytes(Path));
                foreach (var entry in document.RootElement.GetProperty("axes").EnumerateArray())
                {
                    if (machine.AxisIndex(entry.GetProperty("name").GetString() ?? "") is var axis and >= 0)
                    {
                        notes[axis] = Take(entry);
                    }
                }
            }
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException or JsonException
            or KeyNotFoundException or InvalidOperationException or FormatException)
        {
            // What holds an axis somewhere is not gone because a file is.
            problem = $"{Path}: {exception.Message}: every axis that may come back after a following error goes slowly until it is homed or reset";
            notes = [.. machine.Axes.Select(axis => new ReducedSpeedNote { Percent = ReducedSpeedNote.PercentOf(axis), Place = double.NaN, Target = double.NaN })];
        }

        return notes;
    }

    /// <summary>Replaces the file as a whole: after a failure at any instant the old one or the new one is there.</summary>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(IReadOnlyList<ReducedSpeedNote> notes)
    {
        var draft = Path + ".new";
        using (var stream = new FileStream(draft, FileMode.Create, FileAccess.Write))
        {
            using (var writer = new Utf8JsonWriter(stream, new JsonWriterOptions { Indented = true }))
            {
                writer.WriteStartObject();
                writer.WriteStartArray("axes");
                for (var axis = 0; axis < notes.Count; axis++)
                {
                    if (notes[axis].Percent > 0)
                    {
                        Put(writer, machine.Axes[axis].Name, notes[axis]);
                    }
                }

                writer.WriteEndArray();
                writer.WriteEndObject();
            }

            stream.Flush(flushToDisk: true);
        }

        File.Move(draft, Path, overwrite: true);
    }

    private static ReducedSpeedNote Take(JsonElement entry)
    {
        var percent = entry.GetProperty("percent").GetDouble();
        return percent is > 0 and <= Full
            ? new ReducedSpeedNote { Percent = percent, Place = Known(entry, "place"), Target = Known(entry, "target") }
            : throw new FormatException($"percent must be above 0, at most {Full}");
    }

    private static double Known(JsonElement entry, string name) => entry.TryGetProperty(name, out var value) ? value.GetDouble() : double.NaN;

    private static void Put(Utf8JsonWriter writer, string name, in ReducedSpeedNote note)
    {
        writer.WriteStartObject();
        writer.WriteString("name", name);
        writer.WriteNumber("percent", note.Percent);
        PutKnown(writer, "place", note.Place);
        PutKnown(writer, "target", note.Target);
        writer.WriteEndObject();
    }

    private static void PutKnown(Utf8JsonWriter writer, string name, double value)
    {
        if (double.IsFinite(value))
        {
            writer.WriteNumber(name, value);
        }
    }
}
