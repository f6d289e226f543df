namespace Supervisor.History.Recordings.Coding;

/// <summary>A column of whole numbers: one value when all are the same, differences, or differences of differences, whichever is shortest.</summary>
internal static class IntegerColumn
{
    private const byte Same = 0, Differences = 1, Slopes = 2;

    public static void Write(ByteWriter into, ReadOnlySpan<long> values)
    {
        if (values.Length > 0 && !values.ContainsAnyExcept(values[0]))
        {
            into.Byte(Same);
            into.Signed(values[0]);
            return;
        }

        var slopes = Cost(values, slopes: true) < Cost(values, slopes: false);
        into.Byte(slopes ? Slopes : Differences);
        long last = 0, lastStep = 0;
        foreach (var value in values)
        {
            var step = unchecked(value - last);
            into.Signed(slopes ? unchecked(step - lastStep) : step);
            (last, lastStep) = (value, step);
        }
    }

    /// <exception cref="InvalidDataException">The bytes are damaged.</exception>
    public static void Read(ref ByteReader from, Span<long> values)
    {
        var kind = from.Byte();
        if (kind == Same)
        {
            values.Fill(from.Signed());
            return;
        }

        if (kind > Slopes)
        {
            throw new InvalidDataException($"a column is of unknown kind {kind}");
        }

        long last = 0, lastStep = 0;
        for (var i = 0; i < values.Length; i++)
        {
            var read = from.Signed();
            lastStep = kind == Slopes ? unchecked(lastStep + read) : read;
            last = unchecked(last + lastStep);
            values[i] = last;
        }
    }

    private static long Cost(ReadOnlySpan<long> values, bool slopes)
    {
        long cost = 0, last = 0, lastStep = 0;
        foreach (var value in values)
        {
            var step = unchecked(value - last);
            var written = slopes ? unchecked(step - lastStep) : step;
            cost += 64 - long.LeadingZeroCount(written ^ (written >> 63));
            (last, lastStep) = (value, step);
        }

        return cost;
    }
}
