using System.Globalization;
using System.Runtime.Versioning;
using Supervisor.Benchmarks.Bus;
using Supervisor.Benchmarks.Peers;
using Supervisor.Benchmarks.Results;
using Supervisor.Benchmarks.Rig;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Benchmarks.Paced;

/// <summary>
/// Lines that keep the times of a wire: how long the line lies idle by the master's doing, beyond bytes, turnaround and the silence it must keep, as a
/// share of those. The slave measures it, for ours and for a master on libmodbus alike: from the end of a reply to the next request, less the silence.
/// </summary>
[SupportedOSPlatform("linux")]
internal static class PacedSuite
{
    public const string Name = "paced";

    // Function 23, 8 words out and 8 back; 11 bits a byte.
    private const int BytesOfATransaction = 13 + 16 + 5 + 16;
    private const byte Function = FunctionCode.ReadWriteMultipleRegisters;
    private static readonly TimeSpan TinyRound = TimeSpan.FromMilliseconds(5);
    private static readonly TimeSpan UsualRound = TimeSpan.FromSeconds(0.3);
    private static readonly TimeSpan LongRound = TimeSpan.FromSeconds(3);

    // More and shorter rounds than elsewhere: a computer that stalls spoils a whole one.
    private const int UsualCount = 9;
    private const int TinyCount = 2;
    private static readonly TimeSpan Quick = TimeSpan.FromMilliseconds(0.2);
    private static readonly TimeSpan Slow = TimeSpan.FromMilliseconds(3);

    private static readonly (string Tells, int Baud, GapRule Gap, TimeSpan Turnaround)[] Lines =
    [
        ("115200 baud, proportional gap", 115_200, GapRule.Proportional, Quick),
        ("115200 baud, standard gap", 115_200, GapRule.Standard, Quick),
        ("115200 baud, proportional gap, turnaround 3 ms", 115_200, GapRule.Proportional, Slow),
        ("1 Mbaud, proportional gap", 1_000_000, GapRule.Proportional, Quick),
        ("1 Mbaud, standard gap", 1_000_000, GapRule.Standard, Quick),
        ("1 Mbaud, proportional gap, turnaround 3 ms", 1_000_000, GapRule.Proportional, Slow),
    ];

    public static IEnumerable<BenchmarkResult> Run(Arguments arguments)
    {
        using var programs = PeerPrograms.Compile(out var missing);
        if (programs is null)
        {
            Console.Error.WriteLine($"  left out: {missing}");
            return [];
        }

        var results = new List<BenchmarkResult>();
        foreach (var (tells, baud, gap, turnaround) in Lines)
        {
            var line = new LineSettings(baud, LineParity.None, 2, gap, TimeSpan.Zero);
            RaisedThread.Run(() => results.AddRange(Compare(programs, tells, line, turnaround, arguments.Sized(TinyRound, UsualRound, LongRound), arguments.Sized(TinyCount, UsualCount, UsualCount))), pinned: true);
        }

        return results;
    }

    private static List<BenchmarkResult> Compare(PeerPrograms programs, string tells, LineSettings line, TimeSpan turnaround, TimeSpan length, int count)
    {
        using var slave = programs.Slave(line.Baud, turnaround, line.FrameGap);
        var device = slave.Read();
        using var process = programs.Master(device);
        var (own, reference) = (new OwnMaster(device, line), new ReferenceMaster(process));
        var bound = line.CharacterTime(BytesOfATransaction) + turnaround + line.FrameGap;
        var exchanges = Math.Max(10, (int)(length / bound));
        Idle Own() => Idle.Of(slave, () => own.Run(Function, exchanges));
        Idle Reference() => Idle.Of(slave, () => reference.Run(Function, exchanges, line.FrameGap));
        Own();
        Reference();
        var rounds = Pairs<Idle>.Measure(count, Own, Reference);
        return
        [
            BenchmarkResult.Figure(Name, $"{tells}: transaction by wire, gap and turnaround", bound.TotalMicroseconds, "us", count),
            .. rounds.Rows(Name, $"{tells}: idle, share", idle => idle.Mean / bound, "ratio", "<= 1.0"),
            .. rounds.Rows(Name, $"{tells}: idle in a transaction, p50", idle => idle.Middle.TotalMicroseconds, "us", "<= 1.0"),
            BenchmarkResult.Nought(
                Name, $"{tells}: requests of ours inside the silence", rounds.Ours.Sum(idle => idle.Early), 2L * count * exchanges),
        ];
    }

    /// <summary>What the slave tells of a round.</summary>
    /// <param name="Mean">Time that the master let pass beyond the silence, on average.</param>
    /// <param name="Middle">The same, median.</param>
    /// <param name="Early">Requests that began before the silence was over.</param>
    private readonly record struct Idle(TimeSpan Mean, TimeSpan Middle, long Early)
    {
        public static Idle Of(PeerProcess slave, Func<Round> run)
        {
            slave.Ask("");
            var round = run();
            var told = slave.Ask("").Split(' ').Select(text => double.Parse(text, CultureInfo.InvariantCulture)).ToArray();
            return told is [var requests, 0, var early, var mean, var middle, _] && (int)requests == round.Exchanges
                ? new Idle(TimeSpan.FromMicroseconds(mean / 1000), TimeSpan.FromMicroseconds(middle / 1000), (long)early)
                : throw new InvalidOperationException($"the slave saw {string.Join(' ', told)}; wanted are {round.Exchanges} requests and none invalid");
        }
    }
}
