using System.Runtime.Versioning;
using Supervisor.Benchmarks.Results;
using Supervisor.Benchmarks.Rig;
using Supervisor.Records.Axes;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;

namespace Supervisor.Benchmarks.Stops;

/// <summary>
/// From a trip, given by another thread at random instants of the exchange while axes move and new moves are on their way, to the first byte of the
/// first stop frame. In it: what is left of the transaction on the line, or the time until the idle port looks at the latch again. Beside it, in the
/// same run: how late the port's thread and a bare thread of the same priority wake up.
/// </summary>
[SupportedOSPlatform("linux")]
internal static class StopSuite
{
    public const string Name = "stops";
    private const int Seed = 20_264;
    private const int ShortTrips = 1_000;
    private const int LongTrips = 10_000;
    private const int TinyTrips = 5;
    private const int MostDisturbed = 100;
    private const int Axes = 2;
    private const double CycleMs = 10;

    public static IEnumerable<BenchmarkResult> Run(Arguments arguments)
    {
        Console.Error.WriteLine($"  seed {Seed}");
        var random = new Random(Seed);
        var count = new TripCount();
        using var rig = new LineRig(FastLine.Machine(Axes, 1_000_000, CycleMs));
        using var bare = new JitterThread(rig.Clock);
        // Who trips in service is another port's thread or a chip's, both raised.
        RaisedThread.Run(() =>
        {
            for (var trip = 0; trip < arguments.Sized(TinyTrips, ShortTrips, LongTrips); trip++)
            {
                try
                {
                    Trip(rig, random, count);
                }
                catch (DisturbedException disturbed) when (++count.Disturbed <= MostDisturbed)
                {
                    Console.Error.WriteLine($"  trip {trip} left out: {disturbed.Message}");
                    rig.Recover();
                }
            }
        });
        return Figures(rig, bare, count);
    }

    private static void Trip(LineRig rig, Random random, TripCount count)
    {
        var from = rig.Frames.Count;
        MoveAll(rig, random);
        rig.WaitFor("every axis to move", () => rig.Board.Axes.All(axis => axis.Read() is { State: AxisState.Moving, AtRest: false }));
        MoveAll(rig, random);
        rig.Clock.WaitUntil(rig.Clock.Now + TimeSpan.FromMilliseconds(random.NextDouble() * 2 * CycleMs));
        var given = rig.Clock.Now;
        rig.Board.Latch.Trip(StopCauses.Interlock(0));
        var visible = rig.Clock.Now;
        rig.WaitFor("every axis to rest", () => rig.AllAre(AxisState.Ready));
        count.Take(rig.Frames, from, given, visible);
        rig.Board.Latch.Reset(StopCauses.Interlock(0), rig.Board.Latch.TripCount(StopCauses.Interlock(0)));
    }

    private static void MoveAll(LineRig rig, Random random)
    {
        for (var axis = 0; axis < Axes; axis++)
        {
            rig.Give(axis, AxisCommandKind.MoveFromHere, random.Next(2) == 0 ? 500 : -500);
        }
    }

    private static List<BenchmarkResult> Figures(LineRig rig, JitterThread bare, TripCount count)
    {
        var trips = count.ToStop.Count;
        List<BenchmarkResult> results =
        [
            BenchmarkResult.Nought(Name, "motion frames begun after the latch was visible", count.MotionAfter, trips),
            BenchmarkResult.Nought(Name, "transactions begun between the visible latch and the stop", count.BegunBefore, trips),
            BenchmarkResult.Nought(Name, "trips without a stop frame", count.WithoutStop, trips + count.WithoutStop),
            BenchmarkResult.Figure(Name, "motion frames before trips, of which none may follow one", count.MotionBefore, "count", trips, "> 0") with { IsMet = count.MotionBefore > 0 },
            BenchmarkResult.Figure(Name, "trips left out, as the computer stood still", count.Disturbed, "count", trips),
            BenchmarkResult.Figure(Name, "port thread has real-time priority", rig.IsRaised ? 1 : 0, "yes=1", 1),
        ];
        results.AddRange(count.ToStop.Figures(Name, "trip to first stop frame"));
        results.AddRange(Histogram.Noise(Name, "trip to first stop frame", count.ToStopEven, count.ToStopOdd));
        results.AddRange(rig.PortClock.Lateness.Figures(Name, "port thread wakes late"));
        results.AddRange(Histogram.Noise(Name, "port thread wakes late", rig.PortClock.LatenessEven, rig.PortClock.LatenessOdd));
        results.AddRange(bare.Lateness.Figures(Name, "bare thread wakes late"));
        results.AddRange(Histogram.Noise(Name, "bare thread wakes late", bare.LatenessEven, bare.LatenessOdd));
        return results;
    }
}
