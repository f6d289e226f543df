namespace Supervisor.Configuration.Reading;

/// <summary>Where a number may lie.</summary>
/// <param name="Lower">Least value.</param>
/// <param name="Upper">Greatest value, included.</param>
/// <param name="Unit">Unit for messages; may be empty.</param>
/// <param name="IsOpen">True when <paramref name="Lower"/> itself is not included.</param>
internal readonly record struct NumberRange(double Lower, double Upper, string Unit, bool IsOpen = false)
{
    /// <summary>Far above anything a machine has; keeps sums and products finite.</summary>
    public const double Huge = 1e12;

    public static NumberRange Any(string unit) => new(-Huge, Huge, unit);

    public static NumberRange Above0(string unit, double upper = Huge) => new(0, upper, unit, IsOpen: true);

    public bool Holds(double value) => (IsOpen ? value > Lower : value >= Lower) && value <= Upper;

    /// <summary>What is wrong with a value that does not lie in the range.</summary>
    public string Describe(double value)
    {
        if (double.Abs(value) > Huge)
        {
            return "is too large to be meant";
        }

        var unit = Unit.Length == 0 ? "" : $" {Unit}";
        if (!IsOpen)
        {
            return Lower == Upper ? $"must be {Show.Number(Lower)}{unit}" : $"must be {Show.Number(Lower)} to {Show.Number(Upper)}{unit}";
        }

        return Upper >= Huge
            ? $"must be above {Show.Number(Lower)}{unit}"
            : $"must be above {Show.Number(Lower)} and at most {Show.Number(Upper)}{unit}";
    }
}
