namespace Supervisor.Motion.Heating;

/// <summary>
/// Root mean square of a sampled value over the last minute, √(Σx²t/Σt): the load a motor's rating is compared with. Counted in seconds, so that
/// the window is 59 to 60 s long. Allocates nothing after it was made.
/// </summary>
public sealed class SlidingRms
{
    private const int Seconds = 60;

    private readonly double[] _squares = new double[Seconds];
    private readonly double[] _times = new double[Seconds];
    private long _second = long.MinValue;
    private double _earlierSquares;
    private double _earlierTime;

    /// <summary>The value; NaN while nothing was added within the window.</summary>
    public double Value
    {
        get
        {
            var slot = Slot(_second);
            var time = _earlierTime + _times[slot];
            return time > 0 ? Math.Sqrt((_earlierSquares + _squares[slot]) / time) : double.NaN;
        }
    }

    /// <summary>Adds a value that held for a time.</summary>
    /// <param name="value">Finite.</param>
    /// <param name="elapsed">How long it held, up to <paramref name="now"/>; 0 or more.</param>
    /// <param name="now">Monotonic time; never goes back.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    public void Add(double value, TimeSpan elapsed, TimeSpan now)
    {
        Require.Finite(value);
        ArgumentOutOfRangeException.ThrowIfLessThan(elapsed, TimeSpan.Zero);
        var second = now.Ticks / TimeSpan.TicksPerSecond;
        if (second != _second)
        {
            Turn(second);
        }

        var slot = Slot(second);
        _squares[slot] += value * value * elapsed.TotalSeconds;
        _times[slot] += elapsed.TotalSeconds;
    }

    /// <summary>Empties the seconds that fell out of the window, and sums the others anew: no rounding piles up over months.</summary>
    private void Turn(long second)
    {
        var fallen = _second == long.MinValue ? Seconds : Math.Min(second - _second, Seconds);
        for (var i = 0; i < fallen; i++)
        {
            var slot = Slot(second - i);
            _squares[slot] = 0;
            _times[slot] = 0;
        }

        _second = second;
        _earlierSquares = 0;
        _earlierTime = 0;
        for (var slot = 0; slot < Seconds; slot++)
        {
            _earlierSquares += _squares[slot];
            _earlierTime += _times[slot];
        }
    }

    private static int Slot(long second) => second == long.MinValue ? 0 : (int)(((second % Seconds) + Seconds) % Seconds);
}
