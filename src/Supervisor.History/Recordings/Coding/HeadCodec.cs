namespace Supervisor.History.Recordings.Coding;

/// <summary>What a recording holds, as bytes: the axes and the gaps. Times in whole microseconds, gaps from the recording's begin.</summary>
internal static class HeadCodec
{
    private const byte Version = 1;

    public static byte[] Write(RecordingHead head)
    {
        var into = new ByteWriter();
        into.Byte(Version);
        into.Signed(Microseconds(head.From));
        into.Signed(Microseconds(head.To));
        into.Unsigned((ulong)head.Axes.Count);
        foreach (var axis in head.Axes)
        {
            into.Text(axis.Name);
            into.Text(axis.Unit);
            into.Text(axis.Port);
            into.Signed(Microseconds(axis.Cycle));
            into.Real(axis.CountsPerUnit);
            into.Unsigned((ulong)axis.Inputs.Count);
            foreach (var input in axis.Inputs)
            {
                into.Text(input);
            }
        }

        into.Unsigned((ulong)head.Gaps.Count);
        foreach (var gap in head.Gaps)
        {
            into.Unsigned((ulong)gap.Axis);
            into.Signed(Microseconds(gap.From - head.From));
            into.Signed(Microseconds(gap.To - gap.From));
            into.Unsigned((ulong)gap.Cycles);
            into.Byte((byte)gap.Cause);
        }

        into.Unsigned((ulong)head.MoreGaps);
        return into.Written.ToArray();
    }

    /// <exception cref="InvalidDataException">It is damaged, or of a version that this one can't read.</exception>
    public static RecordingHead Read(ReadOnlySpan<byte> bytes)
    {
        var reader = new ByteReader(bytes);
        if (reader.Byte() is var version && version != Version)
        {
            throw new InvalidDataException($"its head is of format {version}; this version reads format {Version}");
        }

        var from = Time(reader.Signed());
        var to = Time(reader.Signed());
        var axes = new RecordedAxis[reader.Count()];
        for (var i = 0; i < axes.Length; i++)
        {
            var (name, unit, port) = (reader.Text(), reader.Text(), reader.Text());
            var (cycle, perUnit) = (Time(reader.Signed()), reader.Real());
            var inputs = new string[reader.Count()];
            for (var input = 0; input < inputs.Length; input++)
            {
                inputs[input] = reader.Text();
            }

            axes[i] = new RecordedAxis(name, unit, port, cycle, perUnit, inputs);
        }

        var gaps = new TraceGap[reader.Count()];
        for (var i = 0; i < gaps.Length; i++)
        {
            var axis = (int)Math.Min(reader.Unsigned(), int.MaxValue);
            var begin = from + Time(reader.Signed());
            gaps[i] = new TraceGap(axis, begin, begin + Time(reader.Signed()), (int)Math.Min(reader.Unsigned(), int.MaxValue), (GapCause)reader.Byte());
        }

        return new RecordingHead(from, to, axes, gaps) { MoreGaps = (int)Math.Min(reader.Unsigned(), int.MaxValue) };
    }

    private static long Microseconds(TimeSpan time) => time.Ticks / TimeSpan.TicksPerMicrosecond;

    // Whatever damage makes of it, it stays a time.
    private static TimeSpan Time(long microseconds)
    {
        const long Limit = long.MaxValue / TimeSpan.TicksPerMicrosecond / 8;
        return TimeSpan.FromTicks(Math.Clamp(microseconds, -Limit, Limit) * TimeSpan.TicksPerMicrosecond);
    }
}
