using System.Globalization;

namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>Invents zones between axes with ends, in the words of a machine file.</summary>
internal sealed class ZoneText(Dice dice)
{
    private readonly List<(int Axis, double Travel)> _axes = [];

    /// <summary>An axis with ends, from 0 to its travel.</summary>
    public void Note(int axis, double travel) => _axes.Add((axis, travel));

    /// <summary>The zones, as a member of the file.</summary>
    public string Members()
    {
        if (_axes.Count < 2 || dice.Chance(0.25))
        {
            return "";
        }

        var count = 1 + dice.Below(2);
        return $", \"zones\": [ {string.Join(", ", Enumerable.Range(0, count).Select(Zone))} ]";
    }

    private string Zone(int index)
    {
        var (first, travel) = dice.Pick(_axes);
        var (second, other) = dice.Pick(_axes.FindAll(axis => axis.Axis != first));
        return dice.Below(3) switch
        {
            0 => $$"""{ "name": "zone-{{index}}", "pair": [ {{Range(first, travel, 0.3, 0.6)}}, {{Range(second, other, 0.4, 0.7)}} ] }""",
            1 => $$"""{ "name": "zone-{{index}}", "axis": "axis-{{first}}"{{(dice.Chance(0.5) ? $", \"between\": [{Number(travel * 0.4)}, {Number(travel * 0.8)}]" : "")}}, "movesOnlyWhile": {{Range(second, other, 0, dice.Between(0.4, 0.8))}} }""",
            _ => $$"""{ "name": "zone-{{index}}", "pair": [ "axis-{{first}}", "axis-{{second}}" ], "distance": {{Number(travel * 0.1)}}, "offset": {{Number((travel * 0.6) + (other * 0.6))}}, "inverted": true }""",
        };
    }

    private static string Range(int axis, double travel, double from, double to) => $$"""{ "axis": "axis-{{axis}}", "between": [{{Number(travel * from)}}, {{Number(travel * to)}}] }""";

    private static string Number(double value) => value.ToString("0.##", CultureInfo.InvariantCulture);
}
