using System.Globalization;
using System.Numerics;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.Traces;

/// <summary>Samples as lines for people: one a second and axis, with the least, the mean and the greatest value of each quantity in it.</summary>
internal sealed class TraceText(IReadOnlyList<TraceAxis> axes, IReadOnlyList<string> channels)
{
    private const int NameWidth = 12, StateWidth = 9, NumberWidth = 30, LinesOfAHeading = 20;

    private readonly List<TraceSample>[] _second = [.. axes.Select(_ => new List<TraceSample>())];
    private readonly List<TraceGap>[] _gaps = [.. axes.Select(_ => new List<TraceGap>())];
    private readonly TraceChannel[] _numbers = [.. TraceChannel.Numbers.Where(channel => channels.Contains(channel.Name))];
    private int _lines;

    /// <summary>Takes a sample; null: nothing is to be printed yet.</summary>
    /// <param name="sample">Of any axis; by time for each.</param>
    /// <param name="zeroUs">Monotonic time that seconds are counted from.</param>
    public IReadOnlyList<string> Take(TraceSample sample, long zeroUs)
    {
        var axis = (int)sample.Axis;
        var second = Second(sample.AtUs, zeroUs);
        var before = _second[axis];
        IReadOnlyList<string> lines = before.Count > 0 && Second(before[0].AtUs, zeroUs) != second ? Lines(axis, zeroUs) : [];
        before.Add(sample);
        return lines;
    }

    /// <summary>What is left at the end.</summary>
    public IReadOnlyList<string> Rest(long zeroUs) =>
    [
        .. axes.SelectMany((_, axis) => _second[axis].Count > 0 ? Lines(axis, zeroUs) : []),
        .. _gaps.SelectMany(gaps => gaps).Select(gap => Line(gap, zeroUs)),
    ];

    /// <summary>Takes a gap: it is told with the second in which it ends.</summary>
    public void Take(TraceGap gap) => _gaps[(int)gap.Axis].Add(gap);

    private string Line(TraceGap gap, long zeroUs) => string.Create(
        CultureInfo.InvariantCulture,
        $"{(gap.FromUs - zeroUs) / 1e6,8:0.00} s  {axes[(int)gap.Axis].Name}: {Cycles(gap.Cycles)} without a sample, {Of(gap.Cause)}");

    /// <summary>Words of why samples are missing.</summary>
    public static string Of(GapCause cause) => cause switch
    {
        GapCause.Overtaken => "they were overwritten before they were read",
        GapCause.Offline => "the drive or its port was lost",
        GapCause.NotExchanged => "the port did not come to the axis",
        GapCause.NotBegun => "there was none yet",
        _ => "not known why",
    };

    private List<string> Lines(int axis, long zeroUs)
    {
        var lines = new List<string>();
        if (_lines++ % LinesOfAHeading == 0)
        {
            lines.Add(Heading());
        }

        var samples = _second[axis];
        var words = new List<string>
        {
            string.Create(CultureInfo.InvariantCulture, $"{Second(samples[0].AtUs, zeroUs),8} s"),
            axes[axis].Name.PadRight(NameWidth),
            Text.Of(samples[^1].State).PadRight(StateWidth),
        };
        words.AddRange(_numbers.Select(channel => Range(samples, channel, axes[axis]).PadRight(NumberWidth)));
        if (channels.Contains("inputs"))
        {
            words.Add(Inputs(samples, axes[axis]));
        }

        var missed = samples.Count(sample => sample.Result != ExchangeResult.Good);
        if (missed > 0)
        {
            words.Add($"({missed} of {samples.Count} exchanges failed)");
        }

        var second = Second(samples[0].AtUs, zeroUs);
        var gaps = _gaps[axis].FindAll(gap => Second(gap.ToUs, zeroUs) == second);
        _gaps[axis].RemoveAll(gaps.Contains);
        words.AddRange(gaps.GroupBy(gap => gap.Cause).Select(group => $"({Cycles(group.Sum(gap => gap.Cycles))} missing: {Of(group.Key)})"));
        if (samples[^1].Fault.Length > 0)
        {
            words.Add(Text.Words(samples[^1].Fault));
        }

        lines.Add(string.Join("  ", words).TrimEnd());
        samples.Clear();
        return lines;
    }

    private string Heading() =>
        $"{"second",10}  {"axis".PadRight(NameWidth)}  {"state".PadRight(StateWidth)}  "
        + string.Join("  ", _numbers.Select(channel => $"{channel.Name}: least, mean, greatest".PadRight(NumberWidth)))
        + (channels.Contains("inputs") ? "  inputs that were on (~: changed)" : "");

    private static string Range(List<TraceSample> samples, TraceChannel channel, TraceAxis axis)
    {
        double low = double.PositiveInfinity, high = double.NegativeInfinity, sum = 0;
        var count = 0;
        foreach (var value in samples.Where(sample => sample.Result == ExchangeResult.Good).Select(channel.Value).Where(double.IsFinite))
        {
            (low, high, sum, count) = (Math.Min(low, value), Math.Max(high, value), sum + value, count + 1);
        }

        return count == 0 ? "-"
            : high - low < 0.0005 ? $"{Text.Of(high)} {channel.UnitOf(axis.Unit)}"
            : $"{Text.Of(low)}, {Text.Of(sum / count)}, {Text.Of(high)} {channel.UnitOf(axis.Unit)}";
    }

    private static string Inputs(List<TraceSample> samples, TraceAxis axis)
    {
        var any = samples.Aggregate(0u, (bits, sample) => bits | sample.Inputs);
        var all = samples.Aggregate(uint.MaxValue, (bits, sample) => bits & sample.Inputs);
        var names = new List<string>();
        for (var left = any; left != 0; left &= left - 1)
        {
            var bit = BitOperations.TrailingZeroCount(left);
            var name = bit < axis.Inputs.Count ? axis.Inputs[bit] : $"bit {bit}";
            names.Add((all >> bit & 1) != 0 ? name : "~" + name);
        }

        return names.Count > 0 ? string.Join(" ", names) : "none";
    }

    private static string Cycles(int count) => count == 1 ? "1 cycle" : string.Create(CultureInfo.InvariantCulture, $"{count} cycles");

    private static long Second(long atUs, long zeroUs) => (long)Math.Floor((atUs - zeroUs) / 1e6);
}
