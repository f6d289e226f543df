using System.Globalization;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.Traces;

/// <summary>Samples as lines of a table (RFC 4180), one a sample, with the columns' units in the heading where they are the same for all axes.</summary>
internal sealed class TraceCsv(TraceBegin begin, IReadOnlyList<string> channels)
{
    private readonly TraceChannel[] _numbers = [.. TraceChannel.Numbers.Where(channel => channels.Contains(channel.Name))];

    /// <summary>The heading. Times are by the board's clock, and monotonic since its boot.</summary>
    public string Heading() => string.Join(
        ',', ((string[])["time", "monotonic_us", "axis", "unit", "cycle"]).Concat(_numbers.Select(channel => channel.PerAxisUnit is null && channel.Unit.Length > 0
            ? $"{channel.Name}_{(channel.Unit == "%" ? "percent" : channel.Unit)}" : channel.Name)).Concat(channels.Where(TraceChannel.Words.Contains)));

    /// <summary>One sample. What is not known is empty.</summary>
    public string Line(TraceSample sample)
    {
        var axis = begin.Axes[(int)sample.Axis];
        var time = begin.Time.ToDateTime().AddTicks((sample.AtUs - begin.MonotonicUs) * TimeSpan.TicksPerMicrosecond);
        return string.Join(
            ',',
            ((string[])
            [
                time.ToString("yyyy-MM-dd'T'HH:mm:ss.ffffff'Z'", CultureInfo.InvariantCulture), Of(sample.AtUs), Quoted(axis.Name), Quoted(axis.Unit), Of(sample.Cycle),
            ]).Concat(_numbers.Select(channel => Of(channel.Value(sample)))).Concat(channels.Where(TraceChannel.Words.Contains).Select(word => Word(word, sample, axis))));
    }

    private static string Word(string word, TraceSample sample, TraceAxis axis) => word switch
    {
        "inputs" => Quoted(string.Join(' ', axis.Inputs.Where((_, bit) => (sample.Inputs >> bit & 1) != 0))),
        "state" => Quoted(string.Join(' ', new[] { Text.Of(sample.State), Text.Words(sample.Fault) }.Where(text => text.Length > 0))),
        _ => sample.Result.ToString(),
    };

    private static string Of(double value) => double.IsFinite(value) ? value.ToString("R", CultureInfo.InvariantCulture) : "";

    private static string Of(long value) => value.ToString(CultureInfo.InvariantCulture);

    /// <summary>A name may hold what separates; one that a spreadsheet would take for a formula is told apart by a quote.</summary>
    private static string Quoted(string text)
    {
        var safe = text.Length > 0 && "=+-@".Contains(text[0]) ? "'" + text : text;
        return safe.AsSpan().IndexOfAny(",\"\r\n") < 0 ? safe : $"\"{safe.Replace("\"", "\"\"", StringComparison.Ordinal)}\"";
    }
}
