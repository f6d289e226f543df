using System.Text.Json;

namespace Supervisor.Benchmarks.Results;

/// <summary>Figures as a file for programs: <c>{ "results": [ { "suite", "name", "value", "unit", "goal", "n" } ] }</c>; a figure that does not exist is null.</summary>
internal static class ResultFile
{
    public static void Write(string path, IReadOnlyList<BenchmarkResult> results)
    {
        using var file = File.Create(path);
        using var json = new Utf8JsonWriter(file, new JsonWriterOptions { Indented = true });
        json.WriteStartObject();
        json.WriteStartArray("results");
        foreach (var result in results)
        {
            json.WriteStartObject();
            json.WriteString("suite", result.Suite);
            json.WriteString("name", result.Name);
            if (double.IsFinite(result.Value))
            {
                json.WriteNumber("value", result.Value);
            }
            else
            {
                json.WriteNull("value");
            }

            json.WriteString("unit", result.Unit);
            json.WriteString("goal", result.Goal);
            json.WriteNumber("n", result.Count);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }
}
