using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stops;

/// <summary>The latch against both ports at random instants: after a trip nothing begins on a wire before the stop, and nothing that moves an axis at all.</summary>
public sealed class TripTests
{
    private const int Trips = 100_000;

    [Fact]
    public void Trip_AtRandomInstants_NothingButTheStopBeginsAfterIt()
    {
        const int seed = 20_261;
        var run = new TripRun(seed);
        run.Trip(Trips);
        Assert.Equal(Trips, run.Tripped);
        Assert.True(run.MotionFramesBefore > Trips / 2, $"seed {seed}: the check is empty: only {run.MotionFramesBefore} motion frames were seen at all");
        Assert.True(run.TripsInMotion > Trips / 4, $"seed {seed}: only {run.TripsInMotion} trips fell into a move");
        Assert.True(run.MotionFramesAfter == 0, $"seed {seed}: {run.MotionFramesAfter} motion frames after a trip, first: {run.First}");
        Assert.True(run.StopsFirst > Trips / 2, $"seed {seed}: only {run.StopsFirst} trips were followed by a stop");
        Assert.True(run.BegunBeforeTheStop == 0, $"seed {seed}: {run.BegunBeforeTheStop} transactions between a trip and its stop, first: {run.First}");
    }

    [Fact]
    public void Trip_WithALatchNobodyReads_IsFoundByTheCheck()
    {
        // The planted bug: frames are judged against trips the steppers never saw.
        var run = new TripRun(7) { HideTrips = true };
        run.Trip(50);
        Assert.True(run.MotionFramesAfter > 0);
        Assert.True(run.BegunBeforeTheStop > 0);
    }

    [Fact]
    public void Run_TwiceWithOneSeed_GivesTheSameTrace()
    {
        var first = new TripRun(99);
        var second = new TripRun(99);
        var other = new TripRun(100);
        first.Trip(200);
        second.Trip(200);
        other.Trip(200);
        Assert.Equal(first.World.TraceDigest(), second.World.TraceDigest());
        Assert.NotEqual(first.World.TraceDigest(), other.World.TraceDigest());
    }

    [Fact]
    public void Stepper_InSteadyState_AllocatesNothing()
    {
        var run = new TripRun(3);
        run.Trip(50);

        // A collection that other tests cause while the stepper runs can shift the thread's count; a stepper that allocates does so in every round.
        var rounds = Enumerable.Range(0, 5).Select(_ => Allocated(run, 200)).ToArray();
        Assert.True(rounds.Min() == 0, $"bytes by round: {string.Join(", ", rounds)}");
    }

    private static long Allocated(TripRun run, int trips)
    {
        var before = run.World.Ports.Sum(port => port.StepperAllocatedBytes);
        var transactions = run.World.Ports.Sum(port => port.Transactions);
        run.Trip(trips);
        Assert.True(run.World.Ports.Sum(port => port.Transactions) - transactions > 2_000);
        return run.World.Ports.Sum(port => port.StepperAllocatedBytes) - before;
    }

    /// <summary>Two axes on two ports, always moving to and fro; a process interlock of stop category 2 holds both.</summary>
    private sealed class TripRun
    {
        private const int Controlword = 64;
        private readonly Random _random;
        private readonly int _cause;
        private readonly bool[] _owesStop = new bool[2];
        private bool _standing;

        public TripRun(int seed)
        {
            _random = new Random(seed);
            World = new SimulatedWorld(Machines.TwoPorts(), (ulong)seed) { FrameBegun = Judge };
            World.StartUp();
            World.Do("left", AxisCommandKind.Enable);
            World.Do("right", AxisCommandKind.Enable);
            _cause = StopCauses.Interlock(0);
        }

        public SimulatedWorld World { get; }

        public bool HideTrips { get; init; }

        public int Tripped { get; private set; }

        public int TripsInMotion { get; private set; }

        public int MotionFramesBefore { get; private set; }

        public int MotionFramesAfter { get; private set; }

        /// <summary>Trips of a moving axis whose stop was the first frame on its line.</summary>
        public int StopsFirst { get; private set; }

        /// <summary>Transactions of any kind on the line of a moving axis between a trip and that axis's stop.</summary>
        public int BegunBeforeTheStop { get; private set; }

        public string First { get; private set; } = "";

        public void Trip(int times)
        {
            for (var i = 0; i < times; i++)
            {
                Move("left");
                Move("right");
                World.Queue.RunUntil(World.Queue.Now + TimeSpan.FromMicroseconds(_random.Next(1, 60_000)));
                TripsInMotion += World.State("left") == AxisState.Moving || World.State("right") == AxisState.Moving ? 1 : 0;
                _standing = true;
                _owesStop[0] = World.State("left") == AxisState.Moving;
                _owesStop[1] = World.State("right") == AxisState.Moving;
                if (!HideTrips)
                {
                    World.Board.Latch.Trip(_cause);
                }

                Tripped++;
                World.Queue.RunUntil(World.Queue.Now + TimeSpan.FromMilliseconds(60));
                World.RunUntil(() => HideTrips || (World.State("left") == AxisState.Ready && World.State("right") == AxisState.Ready), 5, "both at rest");
                _standing = false;
                World.Board.Latch.Reset(_cause, World.Board.Latch.TripCount(_cause));
            }
        }

        private void Move(string axis)
        {
            World.Give(axis, AxisCommandKind.MoveBy, _random.Next(2) == 0 ? 200 : -200);
            _ = World.Reports.Count;
        }

        private void Judge(WireFrame frame)
        {
            if (_standing && _owesStop[frame.Port])
            {
                // The stop is the controlword alone.
                _owesStop[frame.Port] = !frame.Writes().Select(write => write.Address).SequenceEqual([Controlword]);
                StopsFirst += _owesStop[frame.Port] ? 0 : 1;
                BegunBeforeTheStop += _owesStop[frame.Port] ? 1 : 0;
                First = _owesStop[frame.Port] && First.Length == 0 ? $"{frame.At} port {frame.Port} unit {frame.Unit} function {frame.Function}" : First;
            }

            foreach (var (address, value) in frame.Writes())
            {
                // CiA 402: enabled without the halt bit, or a set-point or start raised, lets an axis move.
                if (address == Controlword && (value & 0x0F) == 0x0F && ((value & 0x100) == 0 || (value & 0x10) != 0))
                {
                    if (_standing)
                    {
                        MotionFramesAfter++;
                        First = First.Length == 0 ? $"{frame.At} port {frame.Port} unit {frame.Unit} controlword {value:X4}" : First;
                    }
                    else
                    {
                        MotionFramesBefore++;
                    }
                }
            }
        }
    }
}
