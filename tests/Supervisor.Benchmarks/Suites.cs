using System.Runtime.Versioning;
using Supervisor.Benchmarks.Kept;
using Supervisor.Benchmarks.Line;
using Supervisor.Benchmarks.Results;
using Supervisor.Benchmarks.Stops;

namespace Supervisor.Benchmarks;

/// <summary>What can be measured. A suite is a folder with a class of its name and a line here.</summary>
[SupportedOSPlatform("linux")]
internal static class Suites
{
    public static readonly IReadOnlyList<(string Name, string Tells, Func<Arguments, IEnumerable<BenchmarkResult>> Run)> All =
    [
        (StopSuite.Name, "from a trip to the first stop frame on a real driver, beside a bare thread", StopSuite.Run),
        (LineSuite.Name, "commands to the wire a second and bytes allocated per cycle", LineSuite.Run),
        (HistorySuite.Name, "pages of a million records, faults acknowledged a second, bytes written, and what a storm does to a port's thread", HistorySuite.Run),
    ];
}
