using System.Buffers;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;

namespace Supervisor.History.Storage;

/// <summary>The values of one kind of record that nobody searches for, as a flat JSON object.</summary>
internal readonly struct Detail
{
    private static readonly JsonWriterOptions Options = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    private readonly JsonElement _root;

    private Detail(JsonElement root) => _root = root;

    /// <summary>Writes members whose values are texts, numbers or lists of texts.</summary>
    public static string Write(params ReadOnlySpan<(string Name, object? Value)> members)
    {
        var buffer = new ArrayBufferWriter<byte>(256);
        using (var writer = new Utf8JsonWriter(buffer, Options))
        {
            writer.WriteStartObject();
            foreach (var (name, value) in members)
            {
                Write(writer, name, value);
            }

            writer.WriteEndObject();
        }

        return Encoding.UTF8.GetString(buffer.WrittenSpan);
    }

    /// <summary>Reads a stored object; one that is damaged reads as empty, because the record's columns still count.</summary>
    public static Detail Read(string? json)
    {
        if (string.IsNullOrEmpty(json))
        {
            return default;
        }

        try
        {
            using var document = JsonDocument.Parse(json);
            return new Detail(document.RootElement.ValueKind == JsonValueKind.Object ? document.RootElement.Clone() : default);
        }
        catch (JsonException)
        {
            return default;
        }
    }

    public string Text(string name) => Find(name) is { ValueKind: JsonValueKind.String } value ? value.GetString()! : "";

    public long Number(string name) => Find(name) is { ValueKind: JsonValueKind.Number } value && value.TryGetInt64(out var number) ? number : 0;

    public double Real(string name) => Find(name) is { ValueKind: JsonValueKind.Number } value && value.TryGetDouble(out var number) ? number : double.NaN;

    /// <summary>True when the member is a number.</summary>
    public bool Has(string name) => Find(name) is { ValueKind: JsonValueKind.Number };

    public IReadOnlyList<string> Texts(string name) => Find(name) is { ValueKind: JsonValueKind.Array } value
        ? [.. value.EnumerateArray().Where(item => item.ValueKind == JsonValueKind.String).Select(item => item.GetString()!)]
        : [];

    private static void Write(Utf8JsonWriter writer, string name, object? value)
    {
        switch (value)
        {
            case string text:
                writer.WriteString(name, RecordCodec.Cut(text));
                break;
            case long number:
                writer.WriteNumber(name, number);
                break;
            case double real when double.IsFinite(real):
                writer.WriteNumber(name, real);
                break;
            case IReadOnlyList<string> texts:
                writer.WriteStartArray(name);
                foreach (var text in texts)
                {
                    writer.WriteStringValue(RecordCodec.Cut(text));
                }

                writer.WriteEndArray();
                break;
            default:
                writer.WriteNull(name);
                break;
        }
    }

    private JsonElement? Find(string name) =>
        _root.ValueKind == JsonValueKind.Object && _root.TryGetProperty(name, out var value) ? value : null;
}
