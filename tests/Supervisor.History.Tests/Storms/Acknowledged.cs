using System.Globalization;
using System.Text;

namespace Supervisor.History.Tests.Storms;

/// <summary>An acknowledgement that a storm has noted: the command that the fault names, and the number it was kept under.</summary>
internal readonly record struct Acknowledged(ulong CommandId, long Sequence)
{
    /// <summary>Reads the lines that are whole.</summary>
    public static IReadOnlyList<Acknowledged> Read(ReadOnlySpan<byte> text)
    {
        var lines = Encoding.ASCII.GetString(text[..(text.LastIndexOf((byte)'\n') + 1)]).Split('\n', StringSplitOptions.RemoveEmptyEntries);
        return [.. lines.Select(line => line.Split(' ')).Select(parts => new Acknowledged(
            ulong.Parse(parts[0], CultureInfo.InvariantCulture), long.Parse(parts[1], CultureInfo.InvariantCulture)))];
    }

    /// <summary>What a history must show after anything: each of these is there once under its number, and each producer's faults are in order.</summary>
    /// <returns>The first thing that is wrong; null when nothing is.</returns>
    public static string? Judge(IReadOnlyList<Acknowledged> told, IReadOnlyList<Acknowledged> kept)
    {
        var numbers = new Dictionary<ulong, long>();
        foreach (var row in kept)
        {
            if (!numbers.TryAdd(row.CommandId, row.Sequence))
            {
                return $"{row.CommandId} is kept under {numbers[row.CommandId]} and under {row.Sequence}";
            }
        }

        foreach (var row in told)
        {
            if (!numbers.TryGetValue(row.CommandId, out var sequence))
            {
                return $"{row.CommandId} was acknowledged as {row.Sequence} and is not kept";
            }

            if (sequence != row.Sequence)
            {
                return $"{row.CommandId} was acknowledged as {row.Sequence} and is kept under {sequence}";
            }
        }

        // A producer's ids rise, a hundred million each.
        foreach (var producer in kept.GroupBy(row => row.CommandId / 100_000_000))
        {
            var bySequence = producer.OrderBy(row => row.Sequence).Select(row => row.CommandId).ToArray();
            if (!bySequence.SequenceEqual(bySequence.Order()))
            {
                return $"the faults of producer {producer.Key} are out of order";
            }
        }

        return null;
    }
}
