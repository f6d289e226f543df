using System.Runtime.Versioning;
using Supervisor.Benchmarks.Bus;
using Supervisor.Benchmarks.Kept;
using Supervisor.Benchmarks.Line;
using Supervisor.Benchmarks.Paced;
using Supervisor.Benchmarks.Results;
using Supervisor.Benchmarks.Scale;
using Supervisor.Benchmarks.Stops;

namespace Supervisor.Benchmarks;

/// <summary>What can be measured. A suite is a folder with a class of its name and a line here.</summary>
[SupportedOSPlatform("linux")]
internal static class Suites
{
    public static readonly IReadOnlyList<(string Name, string Tells, Func<Arguments, IEnumerable<BenchmarkResult>> Run)> All =
    [
        (BusSuite.Name, "exchanges a second and processor time, beside a master on libmodbus", BusSuite.Run),
        (PacedSuite.Name, "idle time of lines that keep the times of a wire, beside a master on libmodbus", PacedSuite.Run),
        (StopSuite.Name, "from a trip to the first stop frame on a real driver, beside a bare thread", StopSuite.Run),
        (LineSuite.Name, "commands to the wire a second and bytes allocated per cycle", LineSuite.Run),
        (ScaleSuite.Name, "processor time an axis from 4 to 64 axes, and how late ports wake without and with twenty readers", ScaleSuite.Run),
        (MemorySuite.Name, "bytes allocated and garbage collections of a daemon with 64 axes on four ports", MemorySuite.Run),
        (HistorySuite.Name, "pages of a million records, faults acknowledged a second, bytes written, and what a storm does to a port's thread", HistorySuite.Run),
    ];
}
