using System.Runtime.Versioning;
using Supervisor.Benchmarks.Peers;
using Supervisor.Benchmarks.Results;
using Supervisor.Benchmarks.Rig;
using Supervisor.Bus.Rtu;

namespace Supervisor.Benchmarks.Bus;

/// <summary>
/// Exchanges a second over one pseudo-terminal with one slave in a process of its own: our master by turns with one on libmodbus that polls alike, the
/// next request as soon as the reply was read, both with a port's priority. Beside it what each takes of the processor.
/// </summary>
[SupportedOSPlatform("linux")]
internal static class BusSuite
{
    public const string Name = "bus";
    private const int WarmUp = 200;
    private const int Fewest = 1_000;

    // More and shorter rounds than elsewhere: a computer that stalls spoils a whole one.
    private const int UsualCount = 9;
    private const int TinyCount = 2;
    private static readonly TimeSpan TinyRound = TimeSpan.FromMilliseconds(20);
    private static readonly TimeSpan UsualRound = TimeSpan.FromSeconds(0.5);
    private static readonly TimeSpan LongRound = TimeSpan.FromSeconds(5);

    private static readonly (string Tells, byte Function)[] Exchanges =
    [
        ("function 17h, 8 words out and 8 back", FunctionCode.ReadWriteMultipleRegisters),
        ("function 03, 8 words back", FunctionCode.ReadHoldingRegisters),
    ];

    public static IEnumerable<BenchmarkResult> Run(Arguments arguments)
    {
        using var programs = PeerPrograms.Compile(out var missing);
        if (programs is null)
        {
            Console.Error.WriteLine($"  left out: {missing}");
            return [];
        }

        using var slave = programs.Slave(0, TimeSpan.Zero, TimeSpan.Zero);
        var device = slave.Read();
        using var process = programs.Master(device);
        var (own, reference) = (new OwnMaster(device, OwnMaster.WithoutTime), new ReferenceMaster(process));
        var results = new List<BenchmarkResult>();
        foreach (var (tells, function) in Exchanges)
        {
            RaisedThread.Run(
                () => results.AddRange(Compare(
                    tells, arguments.Sized(TinyRound, UsualRound, LongRound), arguments.Sized(TinyCount, UsualCount, UsualCount), count => own.Run(function, count), count => reference.Run(function, count, TimeSpan.Zero))),
                pinned: true);
        }

        return results;
    }

    private static IEnumerable<BenchmarkResult> Compare(string tells, TimeSpan length, int count, Func<int, Round> own, Func<int, Round> reference)
    {
        // Compiled, and settled on a processor; then as many for both as ours does in the time of a round.
        own(WarmUp);
        var exchanges = count == TinyCount ? WarmUp : Math.Max(Fewest, (int)(own(Fewest).Rate * length.TotalSeconds));
        reference(exchanges);
        var rounds = Pairs<Round>.Measure(count, () => own(exchanges), () => reference(exchanges));
        return
        [
            .. rounds.Rows(Name, $"{tells}: exchanges", round => round.Rate, "1/s", ">= 1.0"),
            .. rounds.Rows(Name, $"{tells}: processor time an exchange", round => round.ProcessorMicroseconds, "us", "<= 1.0"),
        ];
    }
}
