using System.Text.Json;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Contact;

namespace Supervisor.Daemon.Hosting;

/// <summary>
/// The file in the state folder that keeps what proves the axes' zeros over a restart of the daemon. Small, and written only when a zero is
/// gained or lost. An entry of an earlier boot of the board keeps its serial number; its times can't be compared any more.
/// </summary>
public sealed class ReferenceFile
{
    private const string FileName = "references.json";

    private readonly MachineDefinition _machine;
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
        Path = System.IO.Path.Combine(folder, FileName);
    }

    /// <summary>Where it is.</summary>
    public string Path { get; }

    /// <summary>
    /// Reads what is known of each axis. A file that is not there gives nothing; one that can't be understood gives "not referenced" for
    /// every axis, as a zero that was lost must not come back by a damaged file.
    /// </summary>
    /// <param name="problem">What is wrong with the file and what follows; null when it is good.</param>
    public ReferenceNote[] Read(out string? problem)
    {
        problem = null;
        var notes = new ReferenceNote[_machine.Axes.Count];
        try
        {
            if (File.Exists(Path))
            {
                using var document = JsonDocument.Parse(File.ReadAllBytes(Path));
                foreach (var entry in document.RootElement.GetProperty("axes").EnumerateArray())
                {
                    Take(entry, notes);
                }
            }
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException or JsonException
            or KeyNotFoundException or InvalidOperationException or FormatException or ArgumentException)
        {
            problem = $"{Path}: {exception.Message}: no zero is believed; home the axes, or delete the file to bind absolute axes anew";
            Array.Fill(notes, new ReferenceNote { Version = 1 });
        }

        return notes;
    }

    /// <summary>Replaces the file as a whole: after a failure at any instant the old one or the new one is there.</summary>
    /// <param name="notes">What is known of each axis, in the machine file's order.</param>
    /// <param name="isOfThisBoot">Whether the axis's note was taken since this boot; else it stays as it was read.</param>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(ReadOnlySpan<ReferenceNote> notes, ReadOnlySpan<bool> isOfThisBoot)
    {
        var draft = Path + ".new";
        using (var stream = new FileStream(draft, FileMode.Create, FileAccess.Write))
        {
            using (var writer = new Utf8JsonWriter(stream, new JsonWriterOptions { Indented = true }))
            {
                writer.WriteStartObject();
                writer.WriteStartArray("axes");
                for (var axis = 0; axis < notes.Length; axis++)
                {
                    Put(writer, axis, notes[axis], isOfThisBoot[axis] ? _bootId : _bootIds[axis]);
                }

                writer.WriteEndArray();
                writer.WriteEndObject();
            }

            stream.Flush(flushToDisk: true);
        }

        File.Move(draft, Path, overwrite: true);
    }

    private void Take(JsonElement entry, ReferenceNote[] notes)
    {
        var name = entry.GetProperty("name").GetString();
        for (var axis = 0; axis < notes.Length; axis++)
        {
            if (_machine.Axes[axis].Name != name)
            {
                continue;
            }

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

            notes[axis] = note;
        }
    }

    private void Put(Utf8JsonWriter writer, int axis, in ReferenceNote note, string bootId)
    {
        if (!note.IsKnown)
        {
            return;
        }

        writer.WriteStartObject();
        writer.WriteString("name", _machine.Axes[axis].Name);
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

        writer.WriteEndObject();
    }
}
