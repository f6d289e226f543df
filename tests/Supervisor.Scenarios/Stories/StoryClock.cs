using Supervisor.History.Clocks;

namespace Supervisor.Scenarios.Stories;

/// <summary>The board's two clocks: one that only goes on, and one that somebody or some server sets.</summary>
public sealed class StoryClock(StoryWorld world)
{
    private readonly List<(TimeSpan From, TimeSpan Offset)> _set = [(TimeSpan.MinValue, TimeSpan.Zero)];
    private static readonly DateTimeOffset Epoch = new(2031, 5, 6, 0, 0, 0, TimeSpan.Zero);

    /// <summary>A planted bug: what it tells is off by this much.</summary>
    public TimeSpan TellsWrongBy { get; set; }

    /// <summary>Both as they are now.</summary>
    public ClockReading Read() => new(world.Queue.Now, Epoch + world.Queue.Now + _set[^1].Offset + TellsWrongBy, UtcQuality.Unsynchronised);

    /// <summary>The wall clock is set forward (above zero) or back; the other one goes on.</summary>
    public void Jump(TimeSpan by) => _set.Add((world.Queue.Now, _set[^1].Offset + by));

    /// <summary>True when a time of day is what the wall clock would have said at <paramref name="at"/> by a setting that was in force between then and now.</summary>
    public bool Says(DateTimeOffset utc, TimeSpan at)
    {
        for (var i = _set.Count - 1; i >= 0; i--)
        {
            if ((Epoch + at + _set[i].Offset - utc).Duration() < TimeSpan.FromMilliseconds(1))
            {
                return true;
            }

            if (_set[i].From <= at)
            {
                return false;
            }
        }

        return false;
    }
}
