using System.Globalization;

namespace Supervisor.Benchmarks.Results;

/// <summary>Figures as a table for people.</summary>
internal static class ResultTable
{
    public static void Print(IReadOnlyList<BenchmarkResult> results, TextWriter to)
    {
        var width = results.Select(result => result.Name.Length).DefaultIfEmpty(0).Max();
        to.WriteLine($"{"suite",-8}  {"figure".PadRight(width)}  {"value",12}  {"unit",-8}  {"goal",-8}  {"n",8}");
        foreach (var result in results)
        {
            var verdict = result.IsMet switch { true => "  met", false => "  MISSED", null => "" };
            to.WriteLine($"{result.Suite,-8}  {result.Name.PadRight(width)}  {Number(result.Value),12}  {result.Unit,-8}  {result.Goal,-8}  {result.Count,8}{verdict}");
        }
    }

    private static string Number(double value) => Math.Abs(value) switch
    {
        >= 1000 => value.ToString("0", CultureInfo.InvariantCulture),
        >= 10 => value.ToString("0.0", CultureInfo.InvariantCulture),
        _ => value.ToString("0.###", CultureInfo.InvariantCulture),
    };
}
