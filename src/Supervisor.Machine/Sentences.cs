using System.Globalization;
using Supervisor.Configuration.Machines;

namespace Supervisor.Machine;

/// <summary>Pieces of the sentences that people read in refusals and answers. A sentence is one line, lower case, without a full stop.</summary>
internal static class Sentences
{
    public const string ShuttingDown = "the supervisor is shutting down: give the command again after it has started anew";

    public static string HeldBy(string holder) => $"authority is held by {holder}: wait until it is given back, or ask {holder} for it";

    /// <summary>A sentence of its own.</summary>
    public static string Whole(string sentence) => $"{char.ToUpperInvariant(sentence[0])}{sentence[1..]}.";

    /// <summary>A number without needless digits.</summary>
    public static string Number(double value) => value.ToString("0.###", CultureInfo.InvariantCulture);

    /// <summary>A position or distance with the axis's unit.</summary>
    public static string Length(AxisDefinition axis, double value) => $"{Number(value)} {axis.Unit}";

    /// <summary>A velocity with the axis's unit.</summary>
    public static string Speed(AxisDefinition axis, double value) => $"{Number(value)} {axis.Unit}/s";

    /// <summary>Names of axes, "a", "a and b", "a, b and c".</summary>
    public static string Names(IReadOnlyList<string> names) => names.Count switch
    {
        0 => "",
        1 => names[0],
        _ => $"{string.Join(", ", names.Take(names.Count - 1))} and {names[^1]}",
    };
}
