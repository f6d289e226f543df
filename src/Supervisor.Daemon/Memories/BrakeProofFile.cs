using System.Globalization;
using System.Text.Json;
using Supervisor.Configuration.Machines;
using Supervisor.History.Clocks;
using Supervisor.Runtime.Contact;

namespace Supervisor.Daemon.Memories;

/// <summary>One brake's last proof as the file keeps it.</summary>
/// <param name="PassedUtc">Wall clock when it was passed; null when it never was, or nobody knows.</param>
/// <param name="IsClockRight">The wall clock was synchronised when this was written.</param>
/// <param name="BootId">Boot of the board in which <paramref name="PassedAt"/> counts.</param>
/// <param name="PassedAt">Monotonic time of the proof.</param>
/// <param name="Movement">How far the axis moved, unit.</param>
/// <param name="Failed">The brake failed since.</param>
internal sealed record KeptProof(DateTimeOffset? PassedUtc, bool IsClockRight, string BootId, TimeSpan PassedAt, double Movement, bool Failed)
{
    /// <summary>The motor alone holds the load: a supervisor that starts anew must not take its torque.</summary>
    public bool LoadHeld { get; init; }

    /// <summary>
    /// What it means by the clocks of now. Within one boot the monotonic time counts; else both wall clocks must be right, or the time is not known.
    /// </summary>
    /// <param name="now">Both clocks.</param>
    /// <param name="bootId">This boot.</param>
    /// <param name="version">Version of the note.</param>
    public BrakeProofNote At(in ClockReading now, string bootId, int version)
    {
        var note = new BrakeProofNote { Version = version, Failed = Failed, Movement = Movement, LoadHeld = LoadHeld };
        if (PassedUtc is not { } passed)
        {
            return note;
        }

        if (BootId == bootId)
        {
            (note.PassedKnown, note.PassedAt) = (true, PassedAt);
        }
        else if (IsClockRight && now.Quality == UtcQuality.Synchronised && passed <= now.Utc)
        {
            (note.PassedKnown, note.PassedAt) = (true, now.Monotonic - (now.Utc - passed));
        }

        return note;
    }
}

/// <summary>The file in the state folder that keeps when each brake was last proven. One that can't be understood gives nothing, which counts as overdue.</summary>
internal sealed class BrakeProofFile(MachineDefinition machine, string folder)
{
    private readonly StateFile _file = new(machine, folder, "brake-proofs.json");

    /// <inheritdoc cref="StateFile.Path"/>
    public string Path => _file.Path;

    /// <summary>What is known of each axis's brake, in the machine file's order; null for one that nothing is known of.</summary>
    /// <param name="problem">What is wrong with the file and what follows; null when it is good.</param>
    public KeptProof?[] Read(out string? problem)
    {
        problem = null;
        var kept = new KeptProof?[machine.Axes.Count];
        if (_file.Read((axis, entry) => kept[axis] = Take(entry)) is { } damage)
        {
            // A brake that failed must not be forgiven by a damaged file.
            problem = $"{damage}: every brake counts as failed until it is proven anew";
            Array.Fill(kept, new KeptProof(null, false, "", TimeSpan.Zero, 0, Failed: true));
        }

        return kept;
    }

    /// <summary>Axes whose motor was left holding its load alone, in the machine file's order. Read apart, as the board is made of it; what is wrong with the file <see cref="Read"/> tells.</summary>
    public bool[] ReadHeldLoads() =>
        [.. Read(out _).Select((proof, axis) => proof is { LoadHeld: true } && machine.Axes[axis].Brake?.Proof is not null)];

    /// <inheritdoc cref="StateFile.Write" path="/summary"/>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(IReadOnlyList<KeptProof?> kept) =>
        _file.Write(axis => kept[axis] is not null, (axis, writer) => Put(writer, kept[axis]!));

    private static KeptProof Take(JsonElement entry) => new(
        entry.TryGetProperty("passedUtc", out var utc) ? DateTimeOffset.Parse(utc.GetString()!, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal) : null,
        entry.GetProperty("clockSynchronised").GetBoolean(),
        entry.GetProperty("bootId").GetString() ?? "",
        TimeSpan.FromMilliseconds(entry.GetProperty("passedAtMs").GetDouble()),
        entry.GetProperty("movement").GetDouble(),
        entry.GetProperty("failed").GetBoolean())
    {
        LoadHeld = entry.TryGetProperty("loadHeld", out var held) && held.GetBoolean(),
    };

    private static void Put(Utf8JsonWriter writer, KeptProof proof)
    {
        if (proof.PassedUtc is { } passed)
        {
            writer.WriteString("passedUtc", passed.ToString("O", CultureInfo.InvariantCulture));
        }

        writer.WriteBoolean("clockSynchronised", proof.IsClockRight);
        writer.WriteString("bootId", proof.BootId);
        writer.WriteNumber("passedAtMs", proof.PassedAt.TotalMilliseconds);
        writer.WriteNumber("movement", proof.Movement);
        writer.WriteBoolean("failed", proof.Failed);
        if (proof.LoadHeld)
        {
            writer.WriteBoolean("loadHeld", true);
        }
    }
}
