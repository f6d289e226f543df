using Supervisor.Configuration.Machines;
using Supervisor.History.Entries;
using Supervisor.History.Recordings;
using Supervisor.History.Recordings.Coding;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Machine.Api;
using Supervisor.Records.Faults;
using Supervisor.Records.Tracing;
using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Moves;
using Supervisor.Scenarios.World;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.Recordings;

/// <summary>
/// The gantry jams on its way. What is recorded is held against what the simulated drives themselves told, answer by answer: nothing is missing, nothing is there twice,
/// and every stamp is that of the answer's last byte.
/// </summary>
public sealed class JamRecordingTests
{
    private static readonly TimeSpan StepInterval = TimeSpan.FromMilliseconds(100);

    [Theory]
    [InlineData(701)]
    [InlineData(702)]
    [InlineData(703)]
    public void Recording_OfAJam_IsWhatTheDrivesTold(ulong seed)
    {
        var rig = new Rig(seed);
        rig.Jam();

        Assert.Equal(0, rig.Kept.Gaps);
        Assert.Empty(rig.Recording.Head.Gaps);
        for (var axis = 0; axis < rig.World.Machine.Axes.Count; axis++)
        {
            Assert.Null(rig.FirstDifference(axis));
            Assert.InRange(rig.Recording.Samples[axis].Count, 370, 1500);
        }

        var gantry = rig.Recording.Samples[rig.World.Axis("gantry")];
        Assert.Contains(gantry, sample => sample.Fault == FaultCode.FollowingError);
        Assert.Contains(gantry, sample => sample.FollowingError > 5);
        Assert.Equal(rig.Kept.At, rig.Machine.Journal.Faults[0].At);
    }

    /// <summary>One answer of the gantry is lost with all its repeats: the sample is there and says so, and is no gap.</summary>
    [Fact]
    public void Recording_LostAnswers_AreSamplesThatSaySo()
    {
        var rig = new Rig(704) { LosesAnswers = true };
        rig.Jam();

        var gantry = rig.Recording.Samples[rig.World.Axis("gantry")];
        Assert.Contains(gantry, sample => sample is { Result: ExchangeResult.NoReply, Misses: > 0 });
        Assert.DoesNotContain(rig.Recording.Head.Gaps, gap => gap.Axis == rig.World.Axis("gantry"));
        Assert.Null(rig.FirstDifference(rig.World.Axis("gantry")));
    }

    /// <summary>The port's thread gets no time for a while: the cycles that were skipped are told as a gap of every axis on it.</summary>
    [Fact]
    public void Recording_PortHeldUp_TellsTheGap()
    {
        var rig = new Rig(705) { HoldsUp = TimeSpan.FromMilliseconds(130) };
        rig.Jam();

        var port = rig.World.Machine.Axes[rig.World.Axis("gantry")].Port;
        var expected = rig.World.Machine.Axes.Select((axis, index) => (axis, index)).Where(pair => pair.axis.Port == port).Select(pair => pair.index);
        Assert.Equal(expected, rig.Recording.Head.Gaps.Select(gap => gap.Axis).Order());
        Assert.All(rig.Recording.Head.Gaps, gap => Assert.Equal((GapCause.NotExchanged, true), (gap.Cause, gap.Cycles >= 2)));
        Assert.Null(rig.FirstDifference(rig.World.Axis("gantry")));
    }

    /// <summary>The comparison itself: a sample taken out, one doubled, a stamp or a position that is off by the least there is are all found.</summary>
    [Fact]
    public void FirstDifference_PlantedErrors_AreFound()
    {
        var rig = new Rig(706);
        rig.Jam();
        var axis = rig.World.Axis("gantry");
        var good = rig.Recording.Samples[axis];
        var at = good.Count / 2;
        TraceSample[][] broken =
        [
            [.. good.Take(at), .. good.Skip(at + 1)],
            [.. good.Take(at), good[at], .. good.Skip(at)],
            [.. good.Select((sample, i) => i == at ? sample with { At = sample.At + TimeSpan.FromMicroseconds(1) } : sample)],
            [.. good.Select((sample, i) => i == at ? sample with { Position = sample.Position + (1 / rig.World.Machine.Axes[axis].CountsPerUnit) } : sample)],
            [.. good.Select((sample, i) => i == at ? sample with { Torque = sample.Torque + 0.1f } : sample)],
        ];

        Assert.All(broken, samples => Assert.NotNull(rig.FirstDifference(axis, samples)));
    }

    /// <summary>What a recording costs, for people (run with <c>-diagnostics</c>): bytes of an axis-second, and how far it was packed.</summary>
    [Fact]
    public void Recording_OfAJam_TellsItsSize()
    {
        var rig = new Rig(707);
        rig.Jam();
        var samples = rig.Recording.Samples.Sum(axis => axis.Count);
        var seconds = (rig.Kept.To - rig.Kept.From).TotalSeconds * rig.World.Machine.Axes.Count;
        var bytes = rig.Kept.Content!.Bytes;
        TestContext.Current.SendDiagnosticMessage(
            $"4 axes at 40 ms, a fifth of the time one moves: {samples} samples, {bytes} bytes: {bytes / seconds:0} bytes an axis-second, {(double)bytes / samples:0.00} bytes a sample, {samples * 56.0 / bytes:0.0} times less than in memory");
        Assert.True(bytes < samples * 56 / 4);
    }

    private sealed class Rig
    {
        private readonly List<Told>[] _told;

        public Rig(ulong seed)
        {
            Machine = Movers.Working(seed);
            _told = [.. World.Machine.Axes.Select(_ => new List<Told>())];
            foreach (var line in World.Plant.Lines)
            {
                line.Answered = Log;
            }

            var wanted = World.Machine.History.Recordings;
            var axes = World.Machine.Axes.Select((axis, index) => new RecordedAxis(
                axis.Name, axis.Unit, World.Machine.Ports[axis.Port].Name, World.Machine.Ports[axis.Port].Cycle, axis.CountsPerUnit, [.. axis.Drive.Inputs.Keys])).ToArray();
            Recorder = new RecorderSteps(
                new RecorderPlan(wanted.Before, wanted.After, wanted.Longest, axes, World.Board.Traces) { RingOfAxis = [.. World.Machine.Axes.Select(axis => axis.Port)] },
                Events,
                record => Kept = record);
            World.Queue.After(StepInterval, Step);

            // Everything that will be recorded is in the log too.
            Machine.Run(wanted.Before.TotalSeconds + 1);
        }

        public SupervisedMachine Machine { get; }

        public SimulatedWorld World => Machine.World;

        public RecordingEvents Events { get; } = new();

        public RecorderSteps Recorder { get; }

        public bool LosesAnswers { get; init; }

        public TimeSpan HoldsUp { get; init; }

        public RecordingRecord Kept { get; private set; } = null!;

        public Recording Recording { get; private set; } = null!;

        public void Jam()
        {
            var ticket = Machine.Begin(Machine.Move("gantry", 800) with { Velocity = 50 });
            Machine.RunUntil(() => Machine.Axis("gantry").Position > 250, 10, "on the way");
            Interfere();
            Machine.RunUntil(() => Machine.Axis("gantry").Position > 300, 10, "still on the way");
            World.Drive("gantry").Plant.Jammed = true;
            Machine.RunUntil(() => ticket.Completion.IsCompleted, 1, "seen");
            foreach (var fault in Machine.Journal.Faults)
            {
                Events.Tell(new RecordingEvent(fault.At, "gantry", fault.Code.ToString(), IsMinor: false));
            }

            Machine.RunUntil(() => Kept is not null, 10, "recorded");
            var samples = World.Machine.Axes.Select(_ => new List<TraceSample>()).ToArray();
            foreach (var chunk in Kept.Content!.Chunks)
            {
                samples[chunk.Axis].AddRange(new ChunkCodec().Read(chunk.Data));
            }

            Recording = new Recording(HeadCodec.Read(Kept.Content.Head), samples);
        }

        /// <summary>Where what was recorded differs from what the drive told, in words; null: nowhere.</summary>
        public string? FirstDifference(int axis, IReadOnlyList<TraceSample>? recorded = null)
        {
            var samples = (recorded ?? Recording.Samples[axis]).Where(sample => sample.Fresh).ToArray();
            var told = _told[axis].Where(entry => entry.At >= Kept.From && entry.At <= Kept.To).ToArray();
            if (samples.Length != told.Length)
            {
                return $"{samples.Length} samples, the drive told {told.Length}";
            }

            var definition = World.Machine.Axes[axis];
            var turn = definition.EndlessPeriod ?? 0;
            for (var i = 0; i < samples.Length; i++)
            {
                var off = samples[i].Position - (told[i].PositionCounts / definition.CountsPerUnit * (definition.Inverted ? -1 : 1));
                off = turn > 0 ? Math.IEEERemainder(off, turn) : off;
                if (samples[i].At.Ticks != told[i].At.Ticks / 10 * 10 || Math.Abs(off) > 0.01 / definition.CountsPerUnit || Math.Abs(samples[i].Torque - told[i].Torque) > 0.051)
                {
                    return $"sample {i}: {samples[i]} against {told[i]}";
                }
            }

            return null;
        }

        private void Interfere()
        {
            var port = World.Ports[World.Machine.Axes[World.Axis("gantry")].Port];
            var until = World.Queue.Now + (World.Machine.Ports[0].Cycle * 2);
            if (LosesAnswers)
            {
                var address = World.Machine.Axes[World.Axis("gantry")].Address;
                port.Interfere = frame => frame.Bytes[0] == address && World.Queue.Now < until ? Interference.LostRequest : Interference.None;
            }

            if (HoldsUp > TimeSpan.Zero)
            {
                port.PausedUntil = World.Queue.Now + HoldsUp;
            }
        }

        private void Step()
        {
            Recorder.Step(World.Queue.Now);
            World.Queue.After(StepInterval, Step);
        }

        private void Log(LineAnswer answer)
        {
            var axis = World.Axis(answer.Drive.Axis.Name);
            if (answer.IsFeedback)
            {
                _told[axis].Add(new Told(answer.At, Math.Round(answer.Drive.CountedPosition), Math.Round(answer.Drive.Plant.Torque * 10) / 10));
            }
        }

        private readonly record struct Told(TimeSpan At, double PositionCounts, double Torque);
    }
}
