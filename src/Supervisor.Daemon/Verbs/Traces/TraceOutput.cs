using Supervisor.Api.V1;
using Supervisor.Daemon.Plotting;

namespace Supervisor.Daemon.Verbs.Traces;

/// <summary>What samples are printed as.</summary>
internal enum TraceForm
{
    Text,
    Csv,
    Json,
}

/// <summary>Prints samples as they come, and draws them at the end.</summary>
internal sealed class TraceOutput(IReadOnlyList<string> channels, TraceForm form, string? plotFile)
{
    // An hour of a machine with many axes does not fit into memory: then the plot ends early, and that is told.
    private const int MostPlotted = 2_000_000;

    private readonly List<TraceSample> _samples = [];
    private readonly List<TraceGap> _gaps = [];
    private readonly List<PlotMark> _marks = [];
    private TraceBegin _begin = new();
    private TraceText? _text;
    private TraceCsv? _csv;
    private string _title = "";
    private long _zeroUs;
    private bool _isCut;

    /// <summary>A plot is to be drawn.</summary>
    public bool HasPlot => plotFile is not null;

    /// <summary>The stream begins.</summary>
    /// <param name="begin">The axes.</param>
    /// <param name="zeroUs">Monotonic time that becomes 0.</param>
    /// <param name="title">What is shown.</param>
    public void Begin(TraceBegin begin, long zeroUs, string title)
    {
        (_begin, _zeroUs, _title) = (begin, zeroUs, title);
        if (form == TraceForm.Csv)
        {
            _csv = new TraceCsv(begin, channels);
            Console.Out.WriteLine(_csv.Heading());
        }
        else if (form == TraceForm.Text && !HasPlot)
        {
            _text = new TraceText(begin.Axes, channels);
        }
    }

    /// <summary>Marks a time in the plot.</summary>
    public void Mark(long atUs, string text) => _marks.Add(new PlotMark((atUs - _zeroUs) / 1e6, text));

    /// <summary>Takes samples up to a time; true once one from behind it came.</summary>
    public bool Take(TraceBatch batch, long untilUs)
    {
        foreach (var gap in batch.Gaps)
        {
            Print(gap);
        }

        foreach (var sample in batch.Samples)
        {
            if (sample.AtUs > untilUs)
            {
                return true;
            }

            Print(sample);
        }

        return false;
    }

    /// <summary>Prints what is left, and draws.</summary>
    public int End()
    {
        Lines(_text?.Rest(_zeroUs) ?? []);
        TellGaps();
        if (plotFile is null)
        {
            return ExitCode.Done;
        }

        try
        {
            File.WriteAllText(plotFile, SvgPlot.Draw(
                _title, TracePanels.Of(_begin.Axes, _samples, _gaps, [.. channels], _zeroUs), _marks.Count > 0 ? "time since the event" : "time",
                _marks, TracePanels.Gaps(_gaps, _zeroUs)));
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            Terminal.Error($"the plot can't be written to {plotFile}: {exception.Message}");
            return ExitCode.Failed;
        }

        Console.Error.WriteLine($"{plotFile}: {_samples.Count} samples of {_begin.Axes.Count} axes{(_isCut ? "; the plot ends where they became too many" : "")}");
        return ExitCode.Done;
    }

    // A table and a plot show that something is missing, but not why.
    private void TellGaps()
    {
        if (_text is null && form != TraceForm.Json && _gaps.Count > 0)
        {
            var causes = _gaps.GroupBy(gap => gap.Cause).Select(group => $"{group.Sum(gap => gap.Cycles)} as {TraceText.Of(group.Key)}");
            Terminal.Error($"cycles without a sample: {string.Join(", ", causes)}; --json tells each");
        }
    }

    private void Print(TraceSample sample)
    {
        if (HasPlot && _samples.Count < MostPlotted)
        {
            _samples.Add(sample);
        }

        _isCut |= HasPlot && _samples.Count >= MostPlotted;
        switch (form)
        {
            case TraceForm.Csv:
                Console.Out.WriteLine(_csv!.Line(sample));
                break;
            case TraceForm.Json:
                JsonOut.Print(new TraceLineJson(TraceSampleJson.Of(sample, _begin.Axes[(int)sample.Axis], channels), null), JsonShapes.Readable.TraceLineJson);
                break;
            default:
                Lines(_text?.Take(sample, _zeroUs) ?? []);
                break;
        }
    }

    private void Print(TraceGap gap)
    {
        _gaps.Add(gap);
        if (form == TraceForm.Json)
        {
            JsonOut.Print(
                new TraceLineJson(null, new TraceGapJson(_begin.Axes[(int)gap.Axis].Name, gap.FromUs, gap.ToUs, gap.Cycles, gap.Cause.ToString())), JsonShapes.Readable.TraceLineJson);
        }

        _text?.Take(gap);
    }

    private static void Lines(IReadOnlyList<string> lines)
    {
        foreach (var line in lines)
        {
            Console.Out.WriteLine(line);
        }
    }
}
