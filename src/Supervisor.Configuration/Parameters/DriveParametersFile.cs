using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Parameters;

/// <summary>Reads and writes sets of drive parameters (<c>*.drive-parameters.json</c>).</summary>
public static class DriveParametersFile
{
    private static readonly ObjectShape Shape = new("driveParameters", "axis", "definition", "identity", "savedAt", "parameters", "sha256");
    private static readonly ObjectShape IdentityShape = new("identity", FieldNames.SerialNumber, FieldNames.Model, FieldNames.FirmwareVersion);
    private static readonly ObjectShape ParameterShape = new("savedParameter", "name", "value", "unit");
    private static readonly JsonWriterOptions Readable = new() { Indented = true, Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>Reads and checks one. Never throws for what a file holds or for a file that is not there: every error is in the result.</summary>
    public static FileResult<ReadParameterSet> Read(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        var file = LoadedFile.Open(path);
        var set = file.Root is null ? null : Read(file.Root, file.Errors);
        return new FileResult<ReadParameterSet>(file.Errors.Count == 0 ? set : null, file.Errors.InOrder());
    }

    /// <summary>Writes one whole or not at all: under another name first, then in its place.</summary>
    /// <exception cref="IOException">It can't be written, or it is there already and <paramref name="overwrite"/> is false.</exception>
    /// <exception cref="UnauthorizedAccessException">No permission to write there.</exception>
    public static void Write(string path, DriveParameterSet set, bool overwrite)
    {
        ArgumentNullException.ThrowIfNull(path);
        ArgumentNullException.ThrowIfNull(set);
        var beside = $"{path}.{Environment.ProcessId.ToString(CultureInfo.InvariantCulture)}.new";
        try
        {
            using (var stream = new FileStream(beside, FileMode.Create, FileAccess.Write, FileShare.None))
            {
                using (var json = new Utf8JsonWriter(stream, Readable))
                {
                    Write(json, set);
                }

                stream.Write("\n"u8);
                stream.Flush(flushToDisk: true);
            }

            File.Move(beside, path, overwrite);
        }
        finally
        {
            File.Delete(beside);
        }
    }

    private static void Write(Utf8JsonWriter json, DriveParameterSet set)
    {
        json.WriteStartObject();
        json.WriteString("axis", set.Axis);
        json.WriteString("definition", set.Definition);
        json.WriteStartObject("identity");
        foreach (var (name, value) in set.Identity)
        {
            json.WriteNumber(name, value);
        }

        json.WriteEndObject();
        json.WriteString("savedAt", set.SavedAt.UtcDateTime.ToString("O", CultureInfo.InvariantCulture));
        json.WriteStartArray("parameters");
        foreach (var parameter in set.Parameters)
        {
            json.WriteStartObject();
            json.WriteString("name", parameter.Name);
            json.WriteNumber("value", parameter.Value);
            if (parameter.Unit is not null)
            {
                json.WriteString("unit", parameter.Unit);
            }

            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteString("sha256", set.Hash());
        json.WriteEndObject();
    }

    private static ReadParameterSet? Read(Node root, FileErrors errors)
    {
        if (ObjectReader.Open(root, Shape, errors) is not { } file)
        {
            return null;
        }

        var axis = file.Text("axis", "name of the axis it was saved from");
        var definition = file.Text("definition", "name of the drive definition");
        var identity = ReadIdentity(file);
        var savedAt = ReadTime(file);
        var parameters = ReadParameters(file, errors);
        var hash = file.Text("sha256", "SHA-256 of the set");
        var set = new DriveParameterSet(axis ?? "", definition ?? "", identity, savedAt, parameters);
        return new ReadParameterSet(set, string.Equals(set.Hash(), hash, StringComparison.OrdinalIgnoreCase));
    }

    private static Dictionary<string, double> ReadIdentity(ObjectReader file)
    {
        var identity = new Dictionary<string, double>(StringComparer.Ordinal);
        if (file.Object("identity", IdentityShape, "what the drive told of itself") is { } reader)
        {
            foreach (var name in IdentityShape.Members.Where(name => reader.Find(name) is not null))
            {
                identity[name] = reader.Number(name, NumberRange.Any(""), double.NaN);
            }
        }

        return identity;
    }

    private static DateTimeOffset ReadTime(ObjectReader file)
    {
        const DateTimeStyles Styles = DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal;
        if (file.Text("savedAt", "when it was saved") is not { } text)
        {
            return default;
        }

        if (!DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, Styles, out var time))
        {
            file.Refuse("savedAt", $"{Show.Quoted(text)} is no time; one such as \"2026-01-31T12:00:00Z\" is expected");
        }

        return time;
    }

    private static List<SavedParameter> ReadParameters(ObjectReader file, FileErrors errors)
    {
        var once = new UsedOnce<string>(errors);
        var list = new List<SavedParameter>();
        foreach (var node in file.Items("parameters", "the parameters"))
        {
            if (ObjectReader.Open(node, ParameterShape, errors) is not { } entry)
            {
                continue;
            }

            var name = entry.Text("name", "name in the drive definition");
            if (name is not null)
            {
                once.Note(name, entry.Find("name")!, line => $"parameter {Show.Quoted(name)} appears twice; first in line {line}");
            }

            list.Add(new SavedParameter(name ?? "", entry.Number("value", NumberRange.Any(""), "its value"), entry.Text("unit")));
        }

        return list;
    }
}
