using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace Supervisor.Configuration.Parameters;

/// <summary>The parameters of one drive as they were read out of it.</summary>
/// <param name="Axis">Name of the axis it drove.</param>
/// <param name="Definition">Name of its drive definition.</param>
/// <param name="Identity">What it told of itself: <c>serialNumber</c>, <c>model</c> and <c>firmwareVersion</c>, where its definition has them.</param>
/// <param name="SavedAt">When, by the clock of the computer that asked.</param>
/// <param name="Parameters">Every parameter that could be read, in the definition's order.</param>
public sealed record DriveParameterSet(
    string Axis, string Definition, IReadOnlyDictionary<string, double> Identity, DateTimeOffset SavedAt, IReadOnlyList<SavedParameter> Parameters)
{
    /// <summary>SHA-256 of everything above, as the file carries it.</summary>
    public string Hash()
    {
        var text = new StringBuilder();
        text.Append(Axis).Append('\n').Append(Definition).Append('\n').Append(SavedAt.UtcDateTime.ToString("O", CultureInfo.InvariantCulture)).Append('\n');
        foreach (var (name, value) in Identity.OrderBy(entry => entry.Key, StringComparer.Ordinal))
        {
            text.Append(CultureInfo.InvariantCulture, $"{name}={value:R}\n");
        }

        foreach (var parameter in Parameters)
        {
            text.Append(CultureInfo.InvariantCulture, $"{parameter.Name}={parameter.Value:R} {parameter.Unit}\n");
        }

        return Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text.ToString())));
    }
}

/// <summary>One parameter of a set.</summary>
/// <param name="Name">Name in the drive definition.</param>
/// <param name="Value">Value after scaling.</param>
/// <param name="Unit">Unit in the drive definition; null where it gives none.</param>
public sealed record SavedParameter(string Name, double Value, string? Unit);

/// <summary>A set with what its file says of itself.</summary>
/// <param name="Set">The set.</param>
/// <param name="IsAsSaved">False when the file was changed, or damaged, since it was saved.</param>
public sealed record ReadParameterSet(DriveParameterSet Set, bool IsAsSaved);
