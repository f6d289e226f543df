using System.Globalization;
using System.Text.Json;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Stops;

namespace Supervisor.Daemon.Memories;

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
    private readonly StateFile _file = new(machine, folder, "timeout-proofs.json");

    /// <inheritdoc cref="StateFile.Path"/>
    public string Path => _file.Path;

    /// <summary>What is known of each axis, in the machine file's order.</summary>
    /// <param name="problem">What is wrong with the file and what follows; null when it is good or not there.</param>
    public KeptTimeoutProofs[] Read(out string? problem)
    {
        problem = null;
        var kept = new KeptTimeoutProofs[machine.Axes.Count];
        Array.Fill(kept, new KeptTimeoutProofs(null, null));
        if (_file.Read((axis, entry) => kept[axis] = new KeptTimeoutProofs(Take(entry, "passed"), Take(entry, "failed"))) is { } damage)
        {
            problem = $"{damage}: every communication time-out counts as never proven";
            Array.Fill(kept, new KeptTimeoutProofs(null, null));
        }

        return kept;
    }

    /// <inheritdoc cref="StateFile.Write" path="/summary"/>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(IReadOnlyList<KeptTimeoutProofs> kept) =>
        _file.Write(_ => true, (axis, writer) =>
        {
            Put(writer, "passed", kept[axis].Passed);
            Put(writer, "failed", kept[axis].Failed);
        });

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
