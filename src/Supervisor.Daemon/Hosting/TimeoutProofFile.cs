using System.Globalization;
using System.Text.Json;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Stops;

namespace Supervisor.Daemon.Hosting;

/// <summary>A proof of a communication time-out as it is kept beyond the history's ring.</summary>
/// <param name="Utc">Wall clock of the proof.</param>
/// <param name="IsClockRight">The wall clock was synchronised then.</param>
/// <param name="Verdict">What it came to.</param>
/// <param name="Timeout">The time-out that was asked for.</param>
/// <param name="Reaction">The reaction that was declared, in the definition's word.</param>
/// <param name="SerialNumber">Raw serial number of the drive; null where it tells none.</param>
/// <param name="Velocity">Velocity before the silence, unit/s; 0: at rest.</param>
/// <param name="Distance">Farthest from where it was, unit.</param>
public sealed record KeptTimeoutProof(
    DateTimeOffset Utc, bool IsClockRight, TimeoutVerdict Verdict, TimeSpan Timeout, string Reaction, uint? SerialNumber, double Velocity, double Distance);

/// <summary>What is kept of one axis.</summary>
/// <param name="Passed">The last proof that was passed; null: none is known.</param>
/// <param name="Failed">A proof that failed since; null: none did.</param>
public sealed record KeptTimeoutProofs(KeptTimeoutProof? Passed, KeptTimeoutProof? Failed);

/// <summary>The file in the state folder that keeps them. One that can't be understood gives nothing: every axis counts as never proven.</summary>
internal sealed class TimeoutProofFile(MachineDefinition machine, string folder)
{
    private const string FileName = "timeout-proofs.json";

    /// <summary>Where it is.</summary>
    public string Path { get; } = System.IO.Path.Combine(folder, FileName);

    /// <summary>What is known of each axis, in the machine file's order.</summary>
    /// <param name="problem">What is wrong with the file and what follows; null when it is good or not there.</param>
    public KeptTimeoutProofs[] Read(out string? problem)
    {
        problem = null;
        var kept = new KeptTimeoutProofs[machine.Axes.Count];
        Array.Fill(kept, new KeptTimeoutProofs(null, null));
        try
        {
            if (!File.Exists(Path))
            {
                return kept;
            }

            using var document = JsonDocument.Parse(File.ReadAllBytes(Path));
            foreach (var entry in document.RootElement.GetProperty("axes").EnumerateArray())
            {
                if (machine.AxisIndex(entry.GetProperty("name").GetString() ?? "") is var axis and >= 0)
                {
                    kept[axis] = new KeptTimeoutProofs(Take(entry, "passed"), Take(entry, "failed"));
                }
            }
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException or JsonException
            or KeyNotFoundException or InvalidOperationException or FormatException or ArgumentException)
        {
            problem = $"{Path}: {exception.Message}: every communication time-out counts as never proven";
            Array.Fill(kept, new KeptTimeoutProofs(null, null));
        }

        return kept;
    }

    /// <summary>Replaces the file as a whole: after a failure at any instant the old one or the new one is there.</summary>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(IReadOnlyList<KeptTimeoutProofs> kept)
    {
        var draft = Path + ".new";
        using (var stream = new FileStream(draft, FileMode.Create, FileAccess.Write))
        {
            using (var writer = new Utf8JsonWriter(stream, new JsonWriterOptions { Indented = true }))
            {
                writer.WriteStartObject();
                writer.WriteStartArray("axes");
                for (var axis = 0; axis < kept.Count; axis++)
                {
                    writer.WriteStartObject();
                    writer.WriteString("name", machine.Axes[axis].Name);
                    Put(writer, "passed", kept[axis].Passed);
                    Put(writer, "failed", kept[axis].Failed);
                    writer.WriteEndObject();
                }

                writer.WriteEndArray();
                writer.WriteEndObject();
            }

            stream.Flush(flushToDisk: true);
        }

        File.Move(draft, Path, overwrite: true);
    }

    private static KeptTimeoutProof? Take(JsonElement entry, string name) => !entry.TryGetProperty(name, out var proof) ? null : new KeptTimeoutProof(
        DateTimeOffset.Parse(proof.GetProperty("utc").GetString()!, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal),
        proof.GetProperty("clockSynchronised").GetBoolean(),
        (TimeoutVerdict)proof.GetProperty("verdict").GetByte(),
        TimeSpan.FromMilliseconds(proof.GetProperty("timeoutMs").GetDouble()),
        proof.GetProperty("reaction").GetString() ?? "",
        proof.TryGetProperty("serialNumber", out var serial) ? serial.GetUInt32() : null,
        proof.GetProperty("velocity").GetDouble(),
        proof.GetProperty("distance").GetDouble());

    private static void Put(Utf8JsonWriter writer, string name, KeptTimeoutProof? proof)
    {
        if (proof is null)
        {
            return;
        }

        writer.WriteStartObject(name);
        writer.WriteString("utc", proof.Utc.ToString("O", CultureInfo.InvariantCulture));
        writer.WriteBoolean("clockSynchronised", proof.IsClockRight);
        writer.WriteNumber("verdict", (byte)proof.Verdict);
        writer.WriteNumber("timeoutMs", proof.Timeout.TotalMilliseconds);
        writer.WriteString("reaction", proof.Reaction);
        if (proof.SerialNumber is { } serial)
        {
            writer.WriteNumber("serialNumber", serial);
        }

        writer.WriteNumber("velocity", proof.Velocity);
        writer.WriteNumber("distance", proof.Distance);
        writer.WriteEndObject();
    }
}
