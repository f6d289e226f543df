namespace Supervisor.Configuration.Drives;

/// <summary>The drive takes its ramps as times in milliseconds instead of counts/s².</summary>
/// <param name="ToSpeed">The speed the time leads to or from, counts/s, above 0; null: the velocity that is commanded with it.</param>
public sealed record RampTimesDefinition(double? ToSpeed)
{
    /// <summary>Time of a ramp, ms.</summary>
    /// <param name="rate">Counts/s², above 0.</param>
    /// <param name="velocity">Velocity commanded with it, counts/s.</param>
    public double TimeMs(double rate, double velocity) => (ToSpeed ?? velocity) / rate * 1_000;

    /// <summary>Ramp of a time, counts/s².</summary>
    /// <param name="timeMs">Above 0.</param>
    /// <param name="velocity">Velocity commanded with it, counts/s.</param>
    public double Rate(double timeMs, double velocity) => (ToSpeed ?? velocity) / timeMs * 1_000;
}
