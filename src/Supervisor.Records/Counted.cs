using System.Globalization;

namespace Supervisor.Records;

/// <summary>Numbers of things in sentences for people.</summary>
public static class Counted
{
    /// <summary>"1 error", "2 errors".</summary>
    /// <param name="count">How many.</param>
    /// <param name="one">Word for one of them.</param>
    /// <param name="many">Word for any other number; null: the same with an s.</param>
    public static string Of(long count, string one, string? many = null) =>
        $"{count.ToString(CultureInfo.InvariantCulture)} {(count == 1 ? one : many ?? $"{one}s")}";
}
