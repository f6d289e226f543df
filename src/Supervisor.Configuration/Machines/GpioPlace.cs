using System.Globalization;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads <c>gpio:CHIP-LABEL/LINE</c>.</summary>
internal static class GpioPlace
{
    private const string Prefix = "gpio:";

    /// <summary>Highest line number of a GPIO chip that is believed.</summary>
    private const int HighestLine = 1023;

    /// <summary>Names of chips and lines have at most 31 bytes in the kernel's interface.</summary>
    private const int LongestName = 31;

    /// <summary>True when a place is meant to be a GPIO line.</summary>
    public static bool Is(string text) => text.StartsWith(Prefix, StringComparison.Ordinal);

    /// <summary>The line, or null with an error told.</summary>
    public static GpioReference? Read(Node node, string text, FileErrors errors)
    {
        var place = text[Prefix.Length..];
        var slash = place.LastIndexOf('/');
        var (chip, line) = slash > 0 ? (place[..slash], place[(slash + 1)..]) : ("", "");
        if (chip.Length is 0 or > LongestName || line.Length is 0 or > LongestName)
        {
            errors.Add(node, $"{Show.Quoted(text)} is no GPIO line; gpio:CHIP-LABEL/LINE is expected, such as \"gpio:soc-gpio/17\"");
            return null;
        }

        if (line.All(char.IsAsciiDigit) && (!int.TryParse(line, NumberStyles.None, CultureInfo.InvariantCulture, out var offset) || offset > HighestLine))
        {
            errors.Add(node, $"{Show.Quoted(text)}: a GPIO line is numbered 0 to {HighestLine}");
            return null;
        }

        return new GpioReference(chip, line);
    }
}
