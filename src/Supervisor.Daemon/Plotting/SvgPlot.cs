using System.Globalization;
using System.Net;
using System.Text;

namespace Supervisor.Daemon.Plotting;

/// <summary>
/// Panels one below the other over a common time, as SVG 1.1. Lines are told apart by their strokes and by their names beside them, not by colours, so that a print in
/// black and white tells the same.
/// </summary>
public sealed class SvgPlot
{
    private const int Width = 1000, Left = 78, Right = 150, Top = 40, Bottom = 46, PanelHeight = 150, LaneHeight = 22, PanelGap = 26;
    private const double LeastLabelDistance = 13;

    // Solid, dashes, dots, dash and dot, then the same thinner and grey.
    private static readonly string[] Strokes =
    [
        """stroke="#000" stroke-width="1.4" """, """stroke="#000" stroke-width="1.4" stroke-dasharray="7 3" """, """stroke="#000" stroke-width="1.6" stroke-dasharray="1.5 3" """,
        """stroke="#000" stroke-width="1.4" stroke-dasharray="8 3 2 3" """, """stroke="#777" stroke-width="2" """, """stroke="#777" stroke-width="2" stroke-dasharray="7 3" """,
        """stroke="#777" stroke-width="2" stroke-dasharray="2 3" """, """stroke="#777" stroke-width="2" stroke-dasharray="8 3 2 3" """,
    ];

    private readonly StringBuilder _svg = new();
    private readonly double _from;
    private readonly double _to;

    private SvgPlot(double from, double to) => (_from, _to) = (from, to > from ? to : from + 1);

    /// <summary>Draws.</summary>
    /// <param name="title">Above the panels.</param>
    /// <param name="panels">The panels, from above.</param>
    /// <param name="timeTitle">What the time is counted from, such as <c>time since the fault</c>.</param>
    /// <param name="marks">Times that are marked.</param>
    /// <param name="gaps">Spans of which nothing is known.</param>
    /// <returns>A whole SVG document without anything outside it: it can be a file or stand in an HTML page.</returns>
    public static string Draw(string title, IReadOnlyList<PlotPanel> panels, string timeTitle, IReadOnlyList<PlotMark> marks, IReadOnlyList<PlotGap> gaps)
    {
        ArgumentNullException.ThrowIfNull(panels);
        ArgumentNullException.ThrowIfNull(marks);
        ArgumentNullException.ThrowIfNull(gaps);
        double from = double.PositiveInfinity, to = double.NegativeInfinity;
        foreach (var point in panels.SelectMany(panel => panel.Series).Where(series => series.Points.Count > 0))
        {
            from = Math.Min(from, point.Points[0].Seconds);
            to = Math.Max(to, point.Points[^1].Seconds);
        }

        var plot = new SvgPlot(double.IsFinite(from) ? from : 0, double.IsFinite(to) ? to : 1);
        plot.Begin(title, Top + panels.Sum(panel => HeightOf(panel) + PanelGap) - PanelGap + Bottom);
        var y = (double)Top;
        for (var i = 0; i < panels.Count; i++)
        {
            plot.Panel(panels[i], y, HeightOf(panels[i]), gaps, marks, i == 0, i == panels.Count - 1 ? timeTitle : null);
            y += HeightOf(panels[i]) + PanelGap;
        }

        plot._svg.Append("</svg>\n");
        return plot._svg.ToString();
    }

    private static double HeightOf(PlotPanel panel) => panel.IsDigital ? Math.Max(1, panel.Series.Count) * LaneHeight : PanelHeight;

    private void Begin(string title, double height)
    {
        Add($"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {Width} {height}" width="{Width}" height="{height}" font-family="sans-serif" font-size="12" fill="#000">""");
        Add($"""<title>{Escape(title)}</title>""");
        Add($"""<rect width="{Width}" height="{height}" fill="#fff"/>""");
        Text(Left, 18, "start", title, """font-weight="bold" """);
    }

    private void Panel(PlotPanel panel, double y, double height, IReadOnlyList<PlotGap> gaps, IReadOnlyList<PlotMark> marks, bool isFirst, string? timeTitle)
    {
        foreach (var gap in gaps.Where(gap => gap.To > _from && gap.From < _to))
        {
            var x = X(Math.Max(gap.From, _from));
            Add($"""<rect x="{x}" y="{y}" width="{Math.Max(1, X(Math.Min(gap.To, _to)) - x)}" height="{height}" fill="#ddd"/>""");
        }

        Times(y, height, timeTitle);
        if (panel.IsDigital)
        {
            Lanes(panel, y);
        }
        else
        {
            Lines(panel, y, height);
        }

        Add($"""<rect x="{Left}" y="{y}" width="{Width - Left - Right}" height="{height}" fill="none" stroke="#000" stroke-width="0.8"/>""");
        Text(Left, y - 6, "start", panel.Unit.Length > 0 ? $"{panel.Title}, {panel.Unit}" : panel.Title);
        foreach (var mark in marks.Where(mark => mark.Seconds >= _from && mark.Seconds <= _to))
        {
            Add($"""<line x1="{X(mark.Seconds)}" y1="{y}" x2="{X(mark.Seconds)}" y2="{y + height}" stroke="#000" stroke-width="0.8" stroke-dasharray="3 2"/>""");
            if (isFirst)
            {
                Text(X(mark.Seconds) + 3, y - 6, "start", mark.Text, """font-style="italic" """);
            }
        }
    }

    private void Times(double y, double height, string? timeTitle)
    {
        var ticks = Ticks.Over(_from, _to, 10);
        for (var i = 0; i < ticks.Count; i++)
        {
            var x = X(ticks.At(i));
            Add($"""<line x1="{x}" y1="{y}" x2="{x}" y2="{y + height}" stroke="#ccc" stroke-width="0.5"/>""");
            if (timeTitle is not null)
            {
                Text(x, y + height + 15, "middle", ticks.Text(i));
            }
        }

        if (timeTitle is not null)
        {
            Text((Left + Width - Right) / 2.0, y + height + 33, "middle", $"{timeTitle}, s");
        }
    }

    private void Lines(PlotPanel panel, double y, double height)
    {
        double low = double.PositiveInfinity, high = double.NegativeInfinity;
        foreach (var point in panel.Series.SelectMany(series => series.Points).Where(point => double.IsFinite(point.Value)))
        {
            (low, high) = (Math.Min(low, point.Value), Math.Max(high, point.Value));
        }

        if (!double.IsFinite(low))
        {
            Text((Left + Width - Right) / 2.0, y + (height / 2), "middle", "not told by the drives");
            return;
        }

        var room = Math.Max((high - low) * 0.06, Math.Max(Math.Abs(high) * 1e-6, 1e-3));
        (low, high) = (low - room, high + room);
        var ticks = Ticks.Over(low, high, 5);
        for (var i = 0; i < ticks.Count; i++)
        {
            var at = Y(ticks.At(i));
            Add($"""<line x1="{Left}" y1="{at}" x2="{Width - Right}" y2="{at}" stroke="#ccc" stroke-width="0.5"/>""");
            Text(Left - 6, at + 4, "end", ticks.Text(i));
        }

        for (var i = 0; i < panel.Series.Count; i++)
        {
            Path(PlotThinner.Thin(panel.Series[i].Points, _from, _to, Width - Left - Right), i, Y, isStepped: false);
        }

        Labels(panel, Y, y, height);

        double Y(double value) => Math.Round(y + height - ((value - low) / (high - low) * height), 2);
    }

    private void Lanes(PlotPanel panel, double y)
    {
        for (var i = 0; i < panel.Series.Count; i++)
        {
            var lane = y + (i * LaneHeight);
            Path(PlotThinner.Thin(panel.Series[i].Points, _from, _to, Width - Left - Right), 0, value => lane + (value > 0.5 ? 5 : LaneHeight - 5), isStepped: true);
            Text(Width - Right + 6, lane + (LaneHeight / 2.0) + 4, "start", panel.Series[i].Name);
        }
    }

    private void Path(IReadOnlyList<PlotPoint> points, int index, Func<double, double> height, bool isStepped)
    {
        var path = new StringBuilder();
        double? before = null;
        foreach (var point in points)
        {
            if (!double.IsFinite(point.Value))
            {
                before = null;
                continue;
            }

            var (x, y) = (X(point.Seconds), height(point.Value));
            var isStep = isStepped && before is { } last && last != y;
            path.Append(before is null ? "M" : isStep ? $"H{Number(x)}V{Number(y)}" : "L");
            if (!isStep)
            {
                path.Append(CultureInfo.InvariantCulture, $"{Number(x)} {Number(y)}");
            }

            before = y;
        }

        Add($"""<path d="{path}" fill="none" {Strokes[index % Strokes.Length]}stroke-linejoin="round"/>""");
    }

    /// <summary>Each name at its line's end, moved apart where lines end close to each other.</summary>
    private void Labels(PlotPanel panel, Func<double, double> height, double y, double panelHeight)
    {
        var ends = panel.Series
            .Select((series, index) => (series.Name, Index: index, Last: series.Points.LastOrDefault(point => double.IsFinite(point.Value))))
            .Where(end => panel.Series[end.Index].Points.Any(point => double.IsFinite(point.Value)))
            .Select(end => (end.Name, end.Index, At: height(end.Last.Value))).OrderBy(end => end.At).ToArray();
        var places = new double[ends.Length];
        for (var i = 0; i < ends.Length; i++)
        {
            places[i] = Math.Max(ends[i].At, i == 0 ? y + 6 : places[i - 1] + LeastLabelDistance);
        }

        for (var i = ends.Length - 1; i >= 0; i--)
        {
            places[i] = Math.Min(places[i], i == ends.Length - 1 ? y + panelHeight - 4 : places[i + 1] - LeastLabelDistance);
            Add($"""<path d="M{Number(Width - Right)} {Number(ends[i].At)}L{Number(Width - Right + 8)} {Number(places[i])}H{Number(Width - Right + 30)}" fill="none" {Strokes[ends[i].Index % Strokes.Length]}/>""");
            Text(Width - Right + 34, places[i] + 4, "start", ends[i].Name);
        }
    }

    private double X(double seconds) => Math.Round(Left + ((seconds - _from) / (_to - _from) * (Width - Left - Right)), 2);

    private void Text(double x, double y, string anchor, string text, string more = "") =>
        Add($"""<text x="{x}" y="{y}" text-anchor="{anchor}" {more}>{Escape(text)}</text>""");

    private void Add(FormattableString line) => _svg.Append(FormattableString.Invariant(line)).Append('\n');

    private static string Number(double value) => Math.Round(value, 2).ToString(CultureInfo.InvariantCulture);

    private static string Escape(string text) => WebUtility.HtmlEncode(text);
}
