namespace Supervisor.Configuration.Reading;

/// <summary>Times in files are numbers of milliseconds.</summary>
internal static class Milliseconds
{
    public const string Unit = "ms";

    /// <summary>The time; zero for NaN, which stands for a value told as wrong.</summary>
    public static TimeSpan ToTime(double milliseconds) =>
        double.IsNaN(milliseconds) ? TimeSpan.Zero : TimeSpan.FromTicks((long)Math.Round(milliseconds * TimeSpan.TicksPerMillisecond));
}
