using Supervisor.Api.V1;
using Supervisor.Daemon.Plotting;

namespace Supervisor.Daemon.Verbs.Traces;

/// <summary>Samples as panels of a plot: one a quantity and unit, a line an axis; inputs in lanes.</summary>
public static class TracePanels
{
    /// <summary>The panels of some channels.</summary>
    /// <param name="axes">The axes, as they were told.</param>
    /// <param name="samples">Samples, by time for each axis.</param>
    /// <param name="gaps">Where samples are missing.</param>
    /// <param name="channels">Names of channels, see <see cref="TraceChannel.Names"/>; those that are words are left out, but for inputs.</param>
    /// <param name="zeroUs">Monotonic time that becomes 0.</param>
    public static IReadOnlyList<PlotPanel> Of(
        IReadOnlyList<TraceAxis> axes, IReadOnlyList<TraceSample> samples, IReadOnlyList<TraceGap> gaps, IReadOnlyCollection<string> channels, long zeroUs)
    {
        ArgumentNullException.ThrowIfNull(axes);
        ArgumentNullException.ThrowIfNull(channels);
        var byAxis = axes.Select((_, index) => samples.Where(sample => sample.Axis == index).ToArray()).ToArray();
        var broken = axes.Select((_, index) => gaps.Where(gap => gap.Axis == index).Select(gap => gap.ToUs).ToHashSet()).ToArray();
        var panels = new List<PlotPanel>();
        foreach (var channel in TraceChannel.Numbers.Where(channel => channels.Contains(channel.Name)))
        {
            panels.AddRange(axes.Select((axis, index) => (axis, index)).Where(pair => byAxis[pair.index].Length > 0)
                .GroupBy(pair => channel.UnitOf(pair.axis.Unit))
                .Select(group => new PlotPanel(
                    Title(channel.Name), group.Key, [.. group.Select(pair => Series(pair.axis.Name, byAxis[pair.index], channel.Value, broken[pair.index], zeroUs))])));
        }

        if (channels.Contains("inputs") && Inputs(axes, byAxis, broken, zeroUs) is { Count: > 0 } lanes)
        {
            panels.Add(new PlotPanel("inputs", "", lanes) { IsDigital = true });
        }

        return panels;
    }

    /// <summary>Gaps of any axis as a plot shows them: spans that do not overlap.</summary>
    public static IReadOnlyList<PlotGap> Gaps(IEnumerable<TraceGap> gaps, long zeroUs)
    {
        ArgumentNullException.ThrowIfNull(gaps);
        var spans = new List<PlotGap>();
        foreach (var gap in gaps.OrderBy(gap => gap.FromUs).Select(gap => new PlotGap(Seconds(gap.FromUs, zeroUs), Seconds(gap.ToUs, zeroUs))))
        {
            if (spans.Count > 0 && gap.From <= spans[^1].To)
            {
                spans[^1] = spans[^1] with { To = Math.Max(spans[^1].To, gap.To) };
            }
            else
            {
                spans.Add(gap);
            }
        }

        return spans;
    }

    private static List<PlotSeries> Inputs(IReadOnlyList<TraceAxis> axes, TraceSample[][] byAxis, HashSet<long>[] broken, long zeroUs) =>
    [
        .. axes.SelectMany((axis, index) => axis.Inputs.Take(32).Select((name, bit) => byAxis[index].Length == 0 ? null : Series(
            $"{axis.Name}.{name}", byAxis[index], sample => (sample.Inputs >> bit) & 1, broken[index], zeroUs))).OfType<PlotSeries>(),
    ];

    private static PlotSeries Series(string name, TraceSample[] samples, Func<TraceSample, double> value, HashSet<long> broken, long zeroUs)
    {
        var points = new List<PlotPoint>(samples.Length);
        foreach (var sample in samples)
        {
            var at = Seconds(sample.AtUs, zeroUs);
            if (broken.Contains(sample.AtUs) && points.Count > 0)
            {
                points.Add(new PlotPoint(at, double.NaN));
            }

            // What was not read anew is not drawn as if it were.
            points.Add(new PlotPoint(at, sample.Result == ExchangeResult.Good ? value(sample) : double.NaN));
        }

        return new PlotSeries(name, points);
    }

    private static string Title(string channel) => channel switch
    {
        "commanded" => "commanded position",
        "following" => "following error",
        "reply" => "reply time",
        "misses" => "unanswered requests",
        _ => channel,
    };

    private static double Seconds(long us, long zeroUs) => (us - zeroUs) / 1e6;
}
