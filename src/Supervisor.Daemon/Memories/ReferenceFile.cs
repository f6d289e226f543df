using System.Text.Json;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Contact;

namespace Supervisor.Daemon.Memories;

/// <summary>
/// The file in the state folder that keeps what proves the axes' zeros over a restart of the daemon. Small, and written only when a zero is
/// gained or lost. An entry of an earlier boot of the board keeps its serial number; its times can't be compared any more.
/// </summary>
public sealed class ReferenceFile
{
    private readonly MachineDefinition _machine;
    private readonly StateFile _file;
    private readonly string _bootId;
    private readonly string[] _bootIds;

    /// <param name="machine">The machine file.</param>
    /// <param name="folder">The state folder.</param>
    /// <param name="bootId">Identity of this boot of the board.</param>
    public ReferenceFile(MachineDefinition machine, string folder, string bootId)
    {
        ArgumentNullException.ThrowIfNull(machine);
        _machine = machine;
        _bootId = bootId;
        _bootIds = [.. machine.Axes.Select(_ => "")];
        _file = new StateFile(machine, folder, "references.json");
    }

    /// <inheritdoc cref="StateFile.Path"/>
    public string Path => _file.Path;

    /// <summary>
    /// Reads what is known of each axis. A file that is not there gives nothing; one that can't be understood gives "not referenced" for
    /// every axis, as a zero that was lost must not come back by a damaged file.
    /// </summary>
    /// <param name="problem">What is wrong with the file and what follows; null when it is good.</param>
    public ReferenceNote[] Read(out string? problem)
    {
        problem = null;
        var notes = new ReferenceNote[_machine.Axes.Count];
        if (_file.Read((axis, entry) => notes[axis] = Take(axis, entry)) is { } damage)
        {
            problem = $"{damage}: no zero is believed; home the axes, or delete the file to bind absolute axes anew";
            Array.Fill(notes, new ReferenceNote { Version = 1 });
        }

        return notes;
    }

    /// <inheritdoc cref="StateFile.Write" path="/summary"/>
    /// <param name="notes">What is known of each axis, in the machine file's order.</param>
    /// <param name="isOfThisBoot">Whether the axis's note was taken since this boot; else it stays as it was read.</param>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(IReadOnlyList<ReferenceNote> notes, IReadOnlyList<bool> isOfThisBoot) =>
        _file.Write(axis => notes[axis].IsKnown, (axis, writer) => Put(writer, notes[axis], isOfThisBoot[axis] ? _bootId : _bootIds[axis]));

    private ReferenceNote Take(int axis, JsonElement entry)
    {
        _bootIds[axis] = entry.GetProperty("bootId").GetString() ?? "";
        var note = new ReferenceNote { Version = 1, Referenced = entry.GetProperty("referenced").GetBoolean() };
        if (entry.TryGetProperty("serialNumber", out var serial))
        {
            (note.SerialKnown, note.SerialNumber) = (true, serial.GetUInt32());
        }

        if (entry.TryGetProperty("uptimeMs", out var uptime))
        {
            note.UptimeMs = uptime.GetDouble();
            note.At = TimeSpan.FromMilliseconds(entry.GetProperty("atMs").GetDouble());
            note.UptimeKnown = _bootIds[axis] == _bootId;
        }

        return note;
    }

    private static void Put(Utf8JsonWriter writer, in ReferenceNote note, string bootId)
    {
        writer.WriteBoolean("referenced", note.Referenced);
        if (note.SerialKnown)
        {
            writer.WriteNumber("serialNumber", note.SerialNumber);
        }

        writer.WriteString("bootId", bootId);
        if (note.UptimeKnown || note.At != TimeSpan.Zero)
        {
            writer.WriteNumber("uptimeMs", note.UptimeMs);
            writer.WriteNumber("atMs", note.At.TotalMilliseconds);
        }
    }
}
