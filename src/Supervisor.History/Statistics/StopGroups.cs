using Supervisor.History.Entries;
using Supervisor.History.Reading;

namespace Supervisor.History.Statistics;

/// <summary>Sorts measured stops into alike ones: same axis, unit and category, speeds within a quarter.</summary>
internal sealed class StopGroups
{
    private const double Band = 1.25;
    private const int MostGroups = 4_096;

    private readonly Dictionary<(string Axis, string Unit, int Category, int Speed), StopGroup> _groups = [];

    /// <summary>Takes a stop; one from standstill, or whose rest was not seen, tells nothing.</summary>
    public void Add(StoredRecord stored, StopRecord stop)
    {
        var speed = Math.Abs(stop.Velocity);
        if (stop.RestAfter is not { } rest || !double.IsFinite(stop.Distance) || !double.IsFinite(speed) || speed < 1e-9)
        {
            return;
        }

        var key = (stop.Axis, stop.Unit, stop.Category, (int)Math.Floor(Math.Log(speed, Band)));
        var measure = new StopMeasure(stored.Sequence, stored.Utc, rest, stop.Distance);
        if (_groups.TryGetValue(key, out var group))
        {
            var count = group.Count + 1;
            _groups[key] = group with
            {
                Slowest = Math.Min(group.Slowest, speed), Fastest = Math.Max(group.Fastest, speed), Count = count, Last = measure,
                MeanTime = group.MeanTime + ((rest - group.MeanTime) / count), MeanDistance = group.MeanDistance + ((stop.Distance - group.MeanDistance) / count),
            };
        }
        else if (_groups.Count < MostGroups)
        {
            _groups[key] = new StopGroup(stop.Axis, stop.Unit, stop.Category, speed, speed, 1, measure, measure, rest, stop.Distance);
        }
    }

    /// <summary>By axis, category and speed.</summary>
    public IReadOnlyList<StopGroup> Groups() =>
        [.. _groups.Values.OrderBy(group => group.Axis, StringComparer.Ordinal).ThenBy(group => group.Category).ThenBy(group => group.Slowest)];
}
