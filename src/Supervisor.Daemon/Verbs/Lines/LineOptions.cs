using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;
using Supervisor.Bus.Links;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>Line settings on a command line. Made anew for each verb.</summary>
internal static class LineOptions
{
    public const int LowestBaud = 50;
    public const int HighestBaud = 12_000_000;

    private static readonly Dictionary<string, LineParity> Parities = new(StringComparer.Ordinal)
    {
        ["none"] = LineParity.None, ["even"] = LineParity.Even, ["odd"] = LineParity.Odd,
    };

    public static Argument<string> Port() => new("PORT") { Description = "Device node of the serial port, such as one that `ports` lists." };

    public static Option<int> Baud() => Numbers.Integer("--baud", "RATE", "Bits per second.", LowestBaud, HighestBaud, 115200);

    public static Option<int[]> Bauds(params int[] usual) => List(
        "--baud", "RATE[,RATE…]", $"Bits per second to try; otherwise {string.Join(", ", usual)}.", usual,
        text => int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var baud) && baud is >= LowestBaud and <= HighestBaud ? baud : null,
        $"whole numbers from {LowestBaud} to {HighestBaud}");

    public static Option<LineParity[]> Parity(params LineParity[] usual) => List(
        "--parity", "NAME[,NAME…]", $"none, even or odd; otherwise {string.Join(", ", usual.Select(Name))}.", usual,
        text => Parities.TryGetValue(text, out var parity) ? parity : null,
        "none, even or odd");

    public static Option<int> StopBits() => Numbers.Integer("--stop-bits", "COUNT", "Stop bits, 1 or 2.", 1, 2, 1);

    public static Option<int> TimeoutMs(int usual) => Numbers.Integer("--timeout-ms", "MS", $"How long to wait for an answer, ms; otherwise {usual}.", 1, 10_000, usual);

    public static LineSettings Line(int baud, LineParity parity, int stopBits) => new(baud, parity, stopBits, GapRule.Standard, TimeSpan.Zero);

    public static string Name(LineParity parity) => Parities.First(each => each.Value == parity).Key;

    /// <summary>Line settings in short.</summary>
    public static string Text(LineSettings line) =>
        $"{line.Baud} baud, {(line.Parity == LineParity.None ? "no" : Name(line.Parity))} parity, {line.StopBits} stop bit{(line.StopBits == 1 ? "" : "s")}";

    private static Option<T[]> List<T>(string name, string helpName, string description, T[] usual, Func<string, T?> read, string wanted)
        where T : struct
    {
        return new Option<T[]>(name) { Description = description, HelpName = helpName, DefaultValueFactory = _ => usual, CustomParser = Read };

        T[] Read(ArgumentResult result)
        {
            var values = new List<T>();
            foreach (var text in result.Tokens.SelectMany(token => token.Value.Split(',', StringSplitOptions.TrimEntries)))
            {
                if (read(text) is not { } value)
                {
                    result.AddError($"{name} takes {wanted}, with commas between, not '{text}'");
                    return usual;
                }

                if (!values.Contains(value))
                {
                    values.Add(value);
                }
            }

            return [.. values];
        }
    }
}
