using System.Text.Json;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Daemon.Memories;

/// <summary>
/// The file in the state folder that names the axes whose parameters were begun to be loaded, with what was to be written. One that can't be understood
/// names every axis whose drive has parameters to load.
/// </summary>
internal sealed class UnfinishedLoadFile(MachineDefinition machine, string folder)
{

    private static readonly UnfinishedSet Unknown = new([], Saves: true);

    private readonly StateFile _file = new(machine, folder, "unfinished-loads.json");

    /// <inheritdoc cref="StateFile.Path"/>
    public string Path => _file.Path;

    /// <summary>What was begun for each axis, in the machine file's order; null for one whose drive is whole.</summary>
    /// <param name="problem">What is wrong with the file and what follows; null when it is good.</param>
    public UnfinishedSet?[] Read(out string? problem)
    {
        problem = null;
        var sets = new UnfinishedSet?[machine.Axes.Count];
        if (_file.Read((axis, entry) => sets[axis] = Take(entry, machine.Axes[axis].Drive)) is { } damage)
        {
            problem = $"{damage}: every axis whose drive has parameters is held until its set is loaded; "
                + "where no load was under way, end the daemon and delete the file";
            for (var axis = 0; axis < sets.Length; axis++)
            {
                sets[axis] = machine.Axes[axis].Drive.Parameters.Any(field => field.Access != RegisterAccess.Read) ? Unknown : null;
            }
        }

        return sets;
    }

    /// <inheritdoc cref="StateFile.Write" path="/summary"/>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(IReadOnlyList<UnfinishedSet?> sets) =>
        _file.Write(axis => sets[axis] is not null, (axis, writer) => Put(writer, machine.Axes[axis], sets[axis]!));

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
    }
}
