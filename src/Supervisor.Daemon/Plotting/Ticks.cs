using System.Globalization;

namespace Supervisor.Daemon.Plotting;

/// <summary>Where a scale has its marks: at multiples of 1, 2 or 5 times a power of ten.</summary>
/// <param name="First">First mark.</param>
/// <param name="Step">From one to the next, above 0.</param>
/// <param name="Count">How many.</param>
internal readonly record struct Ticks(double First, double Step, int Count)
{
    /// <summary>Marks of a scale from <paramref name="low"/> to <paramref name="high"/>, about as many as wanted.</summary>
    public static Ticks Over(double low, double high, int wanted)
    {
        var rough = Math.Max(high - low, 1e-9) / Math.Max(1, wanted);
        var power = Math.Pow(10, Math.Floor(Math.Log10(rough)));
        var step = (rough / power) switch
        {
            <= 1 => power,
            <= 2 => 2 * power,
            <= 5 => 5 * power,
            _ => 10 * power,
        };
        var first = Math.Ceiling((low / step) - 1e-9) * step;
        return new Ticks(first, step, (int)Math.Floor(((high - first) / step) + 1e-9) + 1);
    }

    public double At(int index) => First + (index * Step);

    /// <summary>A mark's text, with as many decimals as the step needs.</summary>
    public string Text(int index)
    {
        var decimals = Math.Clamp((int)-Math.Floor(Math.Log10(Step) + 1e-9), 0, 9);
        var value = Math.Round(At(index), decimals);
        return (value == 0 ? 0 : value).ToString("F" + decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
    }
}
