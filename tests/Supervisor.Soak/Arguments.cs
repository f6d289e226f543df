using System.Globalization;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Soak;

/// <summary>What the command was asked for.</summary>
/// <param name="Hours">Simulated hours, above 0.</param>
/// <param name="Seed">Seed of the first story; each that follows has the next.</param>
/// <param name="Axes">Axes of each machine, 1 to 16.</param>
/// <param name="Scope">What each machine has.</param>
internal sealed record Arguments(double Hours, ulong Seed, int Axes, StoryScope Scope)
{
    public const string Usage = "usage: dotnet run --project tests/Supervisor.Soak -c Release -- --hours N [--seed S] [--axes N] [--scope axes|machine]";

    /// <summary>Reads the command line; null with what is wrong.</summary>
    public static Arguments? Read(string[] args, out string error)
    {
        var read = new Arguments(0, 1, 4, StoryScope.Machine);
        error = "";
        for (var i = 0; i < args.Length; i += 2)
        {
            var value = i + 1 < args.Length ? args[i + 1] : "";
            switch (args[i])
            {
                case "--hours" when double.TryParse(value, NumberStyles.Float, CultureInfo.InvariantCulture, out var hours) && hours is > 0 and <= 1e6:
                    read = read with { Hours = hours };
                    break;
                case "--seed" when ulong.TryParse(value, NumberStyles.None, CultureInfo.InvariantCulture, out var seed):
                    read = read with { Seed = seed };
                    break;
                case "--axes" when int.TryParse(value, NumberStyles.None, CultureInfo.InvariantCulture, out var axes) && axes is >= 1 and <= 16:
                    read = read with { Axes = axes };
                    break;
                case "--scope" when value is "axes" or "machine":
                    read = read with { Scope = value == "axes" ? StoryScope.Axes : StoryScope.Machine };
                    break;
                case "--hours" or "--seed" or "--axes" or "--scope":
                    error = $"'{value}' is no value for {args[i]}: hours are above 0, a seed is a whole number from 0, axes are 1 to 16, the scope is axes or machine";
                    return null;
                default:
                    error = $"'{args[i]}' is not known";
                    return null;
            }
        }

        error = read.Hours > 0 ? "" : "--hours is missing";
        return read.Hours > 0 ? read : null;
    }
}
