namespace Supervisor.History.Recordings.Coding;

/// <summary>
/// A column of reals that are multiples of a step, as what a drive counts is: kept as whole numbers. Where one is not (a speed worked out from positions, a step that
/// is not known), the column is kept bit by bit. Values that are not known (NaN) are told apart.
/// </summary>
internal static class RealColumn
{
    private const byte Steps = 0, StepsWithHoles = 1, Bits = 2;

    // What a division and back may lose; what was kept as a float is the same float again.
    private const double Tolerance = 1e-12;
    private const double LargestCount = 1L << 52;

    /// <param name="into">Where to write.</param>
    /// <param name="values">The values.</param>
    /// <param name="perUnit">Steps per unit; 0: not known.</param>
    /// <param name="isFloat">They were floats.</param>
    /// <param name="counts">Room for as many numbers.</param>
    public static void Write(ByteWriter into, ReadOnlySpan<double> values, double perUnit, bool isFloat, Span<long> counts)
    {
        var known = 0;
        foreach (var value in values)
        {
            if (double.IsNaN(value))
            {
                continue;
            }

            var whole = Math.Round(value * perUnit);
            var read = whole / perUnit;
            if (!(Math.Abs(whole) < LargestCount) || !(isFloat ? (float)read == (float)value : Math.Abs(read - value) <= Math.Abs(value) * Tolerance))
            {
                WriteBits(into, values, counts);
                return;
            }

            counts[known++] = (long)whole;
        }

        into.Byte(known == values.Length ? Steps : StepsWithHoles);
        into.Real(perUnit);
        if (known < values.Length)
        {
            WriteHoles(into, values);
        }

        IntegerColumn.Write(into, counts[..known]);
    }

    /// <exception cref="InvalidDataException">The bytes are damaged.</exception>
    public static void Read(ref ByteReader from, Span<double> values, Span<long> counts)
    {
        var kind = from.Byte();
        switch (kind)
        {
            case Steps:
                ReadSteps(ref from, values, counts);
                break;
            case StepsWithHoles:
                var perUnit = from.Real();
                var known = ReadHoles(ref from, values);
                IntegerColumn.Read(ref from, counts[..known]);
                for (int i = 0, next = 0; i < values.Length; i++)
                {
                    values[i] = double.IsNaN(values[i]) ? double.NaN : counts[next++] / perUnit;
                }

                break;
            case Bits:
                IntegerColumn.Read(ref from, counts);
                for (var i = 0; i < values.Length; i++)
                {
                    values[i] = BitConverter.Int64BitsToDouble(counts[i]);
                }

                break;
            default:
                throw new InvalidDataException($"a column is of unknown kind {kind}");
        }
    }

    private static void ReadSteps(ref ByteReader from, Span<double> values, Span<long> counts)
    {
        var perUnit = from.Real();
        IntegerColumn.Read(ref from, counts);
        for (var i = 0; i < values.Length; i++)
        {
            values[i] = counts[i] / perUnit;
        }
    }

    private static void WriteBits(ByteWriter into, ReadOnlySpan<double> values, Span<long> counts)
    {
        into.Byte(Bits);
        for (var i = 0; i < values.Length; i++)
        {
            counts[i] = BitConverter.DoubleToInt64Bits(values[i]);
        }

        IntegerColumn.Write(into, counts[..values.Length]);
    }

    // Lengths of runs: known, not known, known, …
    private static void WriteHoles(ByteWriter into, ReadOnlySpan<double> values)
    {
        for (var at = 0; at < values.Length;)
        {
            var isKnown = !double.IsNaN(values[at]);
            if (at == 0 && !isKnown)
            {
                into.Unsigned(0);
            }

            var end = at;
            while (end < values.Length && !double.IsNaN(values[end]) == isKnown)
            {
                end++;
            }

            into.Unsigned((ulong)(end - at));
            at = end;
        }
    }

    private static int ReadHoles(ref ByteReader from, Span<double> values)
    {
        var known = 0;
        var isKnown = true;
        for (var at = 0; at < values.Length; isKnown = !isKnown)
        {
            var run = from.Unsigned();
            if (run > (ulong)(values.Length - at) || (run == 0 && at > 0))
            {
                throw new InvalidDataException("a run of values is longer than the column, or empty");
            }

            values.Slice(at, (int)run).Fill(isKnown ? 0 : double.NaN);
            known += isKnown ? (int)run : 0;
            at += (int)run;
        }

        return known;
    }
}
