using Supervisor.History.Entries;
using Supervisor.History.Recordings;
using Supervisor.History.Recordings.Coding;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Records.Axes;
using Supervisor.Records.Tracing;

namespace Supervisor.History.Tests.Recordings;

/// <summary>Two ports with two axes each whose rings are filled by hand, and a recorder on them.</summary>
internal sealed class TraceRig
{
    public static readonly TimeSpan Cycle = TimeSpan.FromMilliseconds(10);

    private uint _cycle;

    public TraceRig(int capacity = 4096, double before = 2, double after = 1, double longest = 6)
    {
        Rings = [new TraceRing(capacity), new TraceRing(capacity)];
        Plan = new RecorderPlan(Seconds(before), Seconds(after), Seconds(longest), Axes, Rings) { RingOfAxis = [0, 0, 1, 1] };
        Recorder = new RecorderSteps(Plan, Events, Kept.Add);
    }

    public static IReadOnlyList<RecordedAxis> Axes { get; } =
    [
        new("x", "mm", "line-a", Cycle, 1000, ["home", "end"]),
        new("y", "mm", "line-a", Cycle, 1000, []),
        new("z", "mm", "line-b", Cycle, 100, []),
        new("turn", "deg", "line-b", Cycle, 0, ["guard"]),
    ];

    public TraceRing[] Rings { get; }

    public RecorderPlan Plan { get; }

    public RecordingEvents Events { get; } = new();

    public RecorderSteps Recorder { get; }

    public List<RecordingRecord> Kept { get; } = [];

    public TimeSpan Now { get; private set; } = Seconds(100);

    /// <summary>Everything written, in order: what a recording is compared with.</summary>
    public List<TraceSample> Log { get; } = [];

    /// <summary>Called for each sample; null: it is not written.</summary>
    public Func<TraceSample, TraceSample?> Change { get; set; } = sample => sample;

    /// <summary>How often the recorder gets its turn, in cycles.</summary>
    public int StepEvery { get; set; } = 10;

    public static TimeSpan Seconds(double seconds) => TimeSpan.FromSeconds(seconds);

    public void Tell(double at, bool isMinor = false) => Events.Tell(new RecordingEvent(Seconds(at), "x", "following error", isMinor));

    public void RunTo(double seconds)
    {
        while (Now < Seconds(seconds))
        {
            _cycle++;
            Now += Cycle;
            for (short axis = 0; axis < 4; axis++)
            {
                if (Change(Sample(_cycle, axis, Now + TimeSpan.FromMicroseconds(300 + (axis * 900)))) is { } sample)
                {
                    Log.Add(sample);
                    Rings[Plan.RingOfAxis[axis]].Write(sample);
                }
            }

            if (_cycle % StepEvery == 0)
            {
                Recorder.Step(Now);
            }
        }
    }

    public static TraceSample Sample(uint cycle, short axis, TimeSpan at) => new()
    {
        At = at,
        Axis = axis,
        Cycle = cycle,
        State = AxisState.Moving,
        CommandedPosition = 500,
        Position = Math.Round(Math.Sin(cycle * 0.01) * 100 * 1000) / 1000,
        Velocity = (float)(Math.Round(cycle * 7.0 % 1000) / 1000),
        Torque = (float)(Math.Round(Math.Sin(cycle) * 300) / 10),
        FollowingError = axis == 1 ? float.NaN : 0.001f,
        Inputs = cycle / 100,
        ReplyTime = (ushort)(200 + (cycle % 3)),
        Flags = TraceFlags.Online | TraceFlags.TorqueOn,
        Result = ExchangeResult.Good,
    };

    /// <summary>What a recording holds, decoded from what would be stored.</summary>
    public static Recording Decode(RecordingRecord record)
    {
        var head = HeadCodec.Read(record.Content!.Head);
        var samples = head.Axes.Select(_ => new List<TraceSample>()).ToArray();
        foreach (var chunk in record.Content.Chunks)
        {
            samples[chunk.Axis].AddRange(new ChunkCodec().Read(chunk.Data).Select(sample => sample with { Axis = (short)chunk.Axis }));
        }

        return new Recording(head, samples);
    }

    public void AssertHoldsAll(RecordingRecord record)
    {
        var recording = Decode(record);
        for (var axis = 0; axis < 4; axis++)
        {
            Assert.Equal(Log.Where(sample => sample.Axis == axis && sample.At >= record.From && sample.At <= record.To), recording.Samples[axis]);
        }
    }
}
