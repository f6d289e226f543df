using System.Runtime.Versioning;
using Supervisor.Benchmarks.Results;
using Supervisor.Benchmarks.Rig;
using Supervisor.Bus.Links;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Benchmarks.Line;

/// <summary>
/// One fast line whose axes are given new targets without end: requests that carry a command a second, as a share of what the line can carry, and
/// what the port's thread allocates per cycle meanwhile.
/// </summary>
[SupportedOSPlatform("linux")]
internal static class LineSuite
{
    public const string Name = "line";
    private const int Baud = 1_000_000;
    private const int Axes = 4;
    private const double CycleMs = 10;
    private static readonly TimeSpan ShortRound = TimeSpan.FromSeconds(2);
    private static readonly TimeSpan LongRound = TimeSpan.FromSeconds(10);
    private static readonly TimeSpan TinyRound = TimeSpan.FromMilliseconds(100);

    // Of the demo's drive definition.
    private static readonly TimeSpan Turnaround = TimeSpan.FromMilliseconds(0.2);

    public static IEnumerable<BenchmarkResult> Run(Arguments arguments)
    {
        using var rig = new LineRig(FastLine.Machine(Axes, Baud, CycleMs));
        var round = arguments.Sized(TinyRound, ShortRound, LongRound);
        var allocated = 0L;
        var requests = 0L;
        var targets = new List<double>();
        var busy = new List<TimeSpan>();
        double Measure()
        {
            var (first, last) = Feed(rig, round);
            var seconds = (rig.Frames[last].At - rig.Frames[first].At).TotalSeconds;
            allocated += rig.Frames[last].Allocated - rig.Frames[first].Allocated;
            requests += last - first;
            targets.Add(Targets(rig.Frames, first, last) / seconds);
            busy.Add(MeanTime(rig.Frames, first, last));
            return Commands(rig.Frames, first, last) / seconds;
        }

        Feed(rig, round);
        targets.Clear();
        busy.Clear();
        var overrunsBefore = rig.Board.Ports[0].Port.Read().Overruns;
        var figures = Rounds.Interleaved(Rounds.Usual, Measure, Measure);
        var rate = Rounds.Median(figures[0]);
        var bound = 1 / Rounds.Median(busy.Select(time => time.TotalSeconds));
        var cycles = 2 * Rounds.Usual * round.TotalMilliseconds / CycleMs;
        return
        [
            BenchmarkResult.Figure(Name, "commands to the wire", rate, "1/s", Rounds.Usual, "> 1000"),
            BenchmarkResult.Figure(Name, "commands to the wire, A against A", Rounds.Median(figures[1]) / rate, "ratio", Rounds.Usual),
            BenchmarkResult.Figure(Name, "commands that the line carries at most, by bytes, turnaround and gap", bound, "1/s", busy.Count),
            BenchmarkResult.Figure(Name, "commands, share of what the line carries", rate / bound, "ratio", Rounds.Usual),
            BenchmarkResult.Figure(Name, "new targets among them", Rounds.Median(targets), "1/s", targets.Count),
            BenchmarkResult.Nought(Name, "bytes the port's thread allocated", allocated, requests),
            BenchmarkResult.Figure(Name, "bytes the port's thread allocated per cycle", allocated / cycles, "B", (long)cycles),
            BenchmarkResult.Figure(Name, "cycles overrun", rig.Board.Ports[0].Port.Read().Overruns - overrunsBefore, "count", (long)cycles),
            BenchmarkResult.Figure(Name, "port thread has real-time priority", rig.IsRaised ? 1 : 0, "yes=1", 1),
        ];
    }

    /// <summary>What the requests that carry commands take on the wire on average: their bytes, the drive's turnaround, their replies, and the silence behind.</summary>
    private static TimeSpan MeanTime(FrameLog frames, long first, long last)
    {
        var line = new LineSettings(Baud, LineParity.None, 1, GapRule.Proportional, TimeSpan.Zero);
        var (time, count) = (TimeSpan.Zero, 0);
        for (var i = first; i <= last; i++)
        {
            if (frames[i].Writes)
            {
                time += line.CharacterTime(frames[i].Bytes) + Turnaround + line.FrameGap;
                count++;
            }
        }

        return time / count;
    }

    /// <summary>Gives new targets as fast as they are taken.</summary>
    /// <returns>The first and the last request meanwhile.</returns>
    private static (long First, long Last) Feed(LineRig rig, TimeSpan round)
    {
        var first = rig.Frames.Count;
        var end = rig.Clock.Now + round;
        for (var turn = 0; rig.Clock.Now < end; turn++)
        {
            rig.Give(turn % Axes, AxisCommandKind.MoveBy, turn / Axes % 2 == 0 ? 5 : -5.01);
        }

        return (first, rig.Frames.Count - 1);
    }

    private static int Commands(FrameLog frames, long first, long last)
    {
        var count = 0;
        for (var i = first; i <= last; i++)
        {
            count += frames[i].Writes ? 1 : 0;
        }

        return count;
    }

    private static int Targets(FrameLog frames, long first, long last)
    {
        Span<int> held = stackalloc int[Axes + 1];
        var count = 0;
        for (var i = first; i <= last; i++)
        {
            if (frames[i] is { Target: { } target, Unit: var unit } && held[unit] != target)
            {
                held[unit] = target;
                count++;
            }
        }

        return count;
    }
}
