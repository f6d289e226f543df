namespace Supervisor.Daemon.Plotting;

/// <summary>Takes out points that could not be seen: of each column of the picture the first, the least, the greatest and the last stay, so that no peak is lost.</summary>
internal static class PlotThinner
{
    public static IReadOnlyList<PlotPoint> Thin(IReadOnlyList<PlotPoint> points, double from, double to, int columns)
    {
        if (points.Count <= columns * 4)
        {
            return points;
        }

        var kept = new List<PlotPoint>();
        for (var begin = 0; begin < points.Count;)
        {
            var column = Column(points[begin].Seconds);
            int end = begin, low = begin, high = begin;
            var hole = -1;
            for (; end < points.Count && Column(points[end].Seconds) == column; end++)
            {
                hole = double.IsFinite(points[end].Value) ? hole : end;
                low = !(points[end].Value >= points[low].Value) ? end : low;
                high = !(points[end].Value <= points[high].Value) ? end : high;
            }

            kept.AddRange(new[] { begin, low, high, hole, end - 1 }.Where(index => index >= 0).Distinct().Order().Select(index => points[index]));
            begin = end;
        }

        return kept;

        int Column(double seconds) => (int)((seconds - from) / (to - from) * columns);
    }
}
