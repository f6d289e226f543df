using System.Text.Json;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Recovery;

namespace Supervisor.Daemon.Memories;

/// <summary>The file in the state folder that names the axes which go slowly since they did not follow. One that can't be understood gives every axis that may be one of them.</summary>
internal sealed class ReducedSpeedFile(MachineDefinition machine, string folder)
{
    private const double Full = 100;

    private readonly StateFile _file = new(machine, folder, "reduced-speeds.json");

    /// <inheritdoc cref="StateFile.Path"/>
    public string Path => _file.Path;

    /// <summary>What an earlier run left, in the machine file's order.</summary>
    /// <param name="problem">What is wrong with the file and what follows; null when it is good.</param>
    public ReducedSpeedNote[] Read(out string? problem)
    {
        problem = null;
        var notes = new ReducedSpeedNote[machine.Axes.Count];
        if (_file.Read((axis, entry) => notes[axis] = Take(entry)) is { } damage)
        {
            // What holds an axis somewhere is not gone because a file is.
            problem = $"{damage}: every axis that may come back after a following error goes slowly until it is homed or reset";
            notes = [.. machine.Axes.Select(axis => new ReducedSpeedNote { Percent = ReducedSpeedNote.PercentOf(axis), Place = double.NaN, Target = double.NaN })];
        }

        return notes;
    }

    /// <inheritdoc cref="StateFile.Write" path="/summary"/>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(IReadOnlyList<ReducedSpeedNote> notes) =>
        _file.Write(axis => notes[axis].Percent > 0, (axis, writer) => Put(writer, notes[axis]));

    private static ReducedSpeedNote Take(JsonElement entry)
    {
        var percent = entry.GetProperty("percent").GetDouble();
        return percent is > 0 and <= Full
            ? new ReducedSpeedNote { Percent = percent, Place = Known(entry, "place"), Target = Known(entry, "target") }
            : throw new FormatException($"percent must be above 0, at most {Full}");
    }

    private static double Known(JsonElement entry, string name) => entry.TryGetProperty(name, out var value) ? value.GetDouble() : double.NaN;

    private static void Put(Utf8JsonWriter writer, in ReducedSpeedNote note)
    {
        writer.WriteNumber("percent", note.Percent);
        PutKnown(writer, "place", note.Place);
        PutKnown(writer, "target", note.Target);
    }

    private static void PutKnown(Utf8JsonWriter writer, string name, double value)
    {
        if (double.IsFinite(value))
        {
            writer.WriteNumber(name, value);
        }
    }
}
