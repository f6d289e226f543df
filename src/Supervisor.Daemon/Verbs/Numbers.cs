using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;

namespace Supervisor.Daemon.Verbs;

/// <summary>Numbers on a command line: a decimal point, no thousands, finite.</summary>
internal static class Numbers
{
    public static bool TryParse(string text, out double value) =>
        double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out value) && double.IsFinite(value);

    public static Option<double?> Option(string name, string helpName, string description, bool required)
    {
        return new Option<double?>(name) { Description = description, HelpName = helpName, Required = required, CustomParser = Read };

        double? Read(ArgumentResult result)
        {
            if (TryParse(result.Tokens[0].Value, out var value))
            {
                return value;
            }

            result.AddError($"{name} must be a number, not '{result.Tokens[0].Value}'");
            return null;
        }
    }

    public static Option<int> Integer(string name, string helpName, string description, int lowest, int highest, int fallback)
    {
        return new Option<int>(name) { Description = description, HelpName = helpName, DefaultValueFactory = _ => fallback, CustomParser = Read };

        int Read(ArgumentResult result)
        {
            if (int.TryParse(result.Tokens[0].Value, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out var value) && value >= lowest && value <= highest)
            {
                return value;
            }

            result.AddError($"{name} must be a whole number from {lowest} to {highest}, not '{result.Tokens[0].Value}'");
            return fallback;
        }
    }
}
