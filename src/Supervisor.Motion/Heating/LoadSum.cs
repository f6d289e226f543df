namespace Supervisor.Motion.Heating;

/// <summary>
/// The square of a sampled load summed over time, Σx²t, and the time itself: two of them, taken at the ends of a cycle, give the cycle's root
/// mean square. Kept for months they stay exact enough: a cycle of seconds is lost in rounding only after centuries.
/// </summary>
/// <param name="SquareSeconds">Σx²t, square of the value's unit times s; never falls.</param>
/// <param name="Seconds">Σt, s: the time in which the value was known; never falls.</param>
public readonly record struct LoadSum(double SquareSeconds, double Seconds)
{
    /// <summary>With a value that held for a time.</summary>
    /// <param name="value">Finite.</param>
    /// <param name="elapsed">How long it held; 0 or more.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    public LoadSum With(double value, TimeSpan elapsed)
    {
        Require.Finite(value);
        ArgumentOutOfRangeException.ThrowIfLessThan(elapsed, TimeSpan.Zero);
        return new LoadSum(SquareSeconds + (value * value * elapsed.TotalSeconds), Seconds + elapsed.TotalSeconds);
    }

    /// <summary>Root mean square √(Σx²t/Σt) of what came since; NaN when nothing did.</summary>
    public double RmsSince(in LoadSum earlier)
    {
        var seconds = Seconds - earlier.Seconds;
        return seconds > 0 ? Math.Sqrt(Math.Max(SquareSeconds - earlier.SquareSeconds, 0) / seconds) : double.NaN;
    }
}
