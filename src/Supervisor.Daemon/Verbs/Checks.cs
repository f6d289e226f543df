using System.CommandLine;
using System.CommandLine.Parsing;

namespace Supervisor.Daemon.Verbs;

/// <summary>Checks of what the values of a command line have to do with one another.</summary>
internal static class Checks
{
    /// <summary>Adds a check that looks at values.</summary>
    /// <remarks>
    /// The parser makes it before it looks whether each value can be read, and asking for one that can't throws.
    /// The check is left off there: the value is then told as what it is, with its own option.
    /// </remarks>
    public static void Check(this Command verb, Action<CommandResult> check) => verb.Validators.Add(result =>
    {
        try
        {
            check(result);
        }
        catch (InvalidOperationException) when (!result.Children.All(IsReadable))
        {
        }
    });

    private static bool IsReadable(SymbolResult child)
    {
        try
        {
            _ = child switch
            {
                OptionResult option => option.GetValueOrDefault<object?>(),
                ArgumentResult argument => argument.GetValueOrDefault<object?>(),
                _ => null,
            };
            return true;
        }
        catch (InvalidOperationException)
        {
            return false;
        }
    }
}
