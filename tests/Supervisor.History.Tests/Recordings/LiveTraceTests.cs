using Supervisor.History.Recordings;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Records.Tracing;
using static Supervisor.History.Tests.Recordings.TraceRig;

namespace Supervisor.History.Tests.Recordings;

/// <summary>Samples as they come, and what is told of those that were overwritten before they were read.</summary>
public sealed class LiveTraceTests
{
    [Fact]
    public void TryRead_FastEnough_GivesEverySampleOfTheAxesWanted()
    {
        var rig = new TraceRig();
        rig.RunTo(101);
        var trace = new LiveTrace(rig.Plan, [2, 0], null);
        var seen = new List<(TraceSample Sample, int Axis)>();
        for (var until = 101.1; until < 103; until += 0.1)
        {
            rig.RunTo(until);
            seen.AddRange(Read(trace, out var gaps));
            Assert.Empty(gaps);
        }

        Assert.Equal(rig.Log.Where(sample => sample.Axis == 2 && sample.At > Seconds(101.005) && sample.At < rig.Now + Cycle), seen.Where(pair => pair.Axis == 0).Select(pair => pair.Sample));
        Assert.Equal([0, 2], seen.Select(pair => (int)pair.Sample.Axis).Distinct().Order());
        Assert.All(seen, pair => Assert.Equal(pair.Sample.Axis == 2 ? 0 : 1, pair.Axis));
    }

    [Fact]
    public void TryRead_FarBehind_TellsEveryCycleThatWasOverwritten()
    {
        // 256 samples are 1.28 s of a port with two axes.
        var rig = new TraceRig(capacity: 256);
        rig.RunTo(101);
        var trace = new LiveTrace(rig.Plan, [0, 1], null);
        var seen = Read(trace, out _);
        rig.RunTo(101.5);
        seen.AddRange(Read(trace, out var none));
        Assert.Empty(none);
        rig.RunTo(111.5);
        seen.AddRange(Read(trace, out var gaps));

        Assert.Equal([0, 1], gaps.Select(gap => gap.Axis).Order());
        foreach (var gap in gaps)
        {
            var cycles = seen.Where(pair => pair.Axis == gap.Axis).Select(pair => pair.Sample.Cycle).ToArray();
            Assert.Equal(GapCause.Overtaken, gap.Cause);
            Assert.True(gap.Cycles > 800, $"{gap}");
            Assert.Equal(1050, cycles.Length + gap.Cycles);
            Assert.Equal(cycles.Distinct(), cycles);
        }
    }

    [Fact]
    public void TryRead_FromBefore_BeginsThere()
    {
        var rig = new TraceRig();
        rig.RunTo(105);
        var seen = Read(new LiveTrace(rig.Plan, [3], Seconds(104)), out var gaps);

        Assert.Empty(gaps);
        Assert.Equal(rig.Log.Where(sample => sample.Axis == 3 && sample.At >= Seconds(104)), seen.Select(pair => pair.Sample));
    }

    private static List<(TraceSample Sample, int Axis)> Read(LiveTrace trace, out List<TraceGap> gaps)
    {
        var seen = new List<(TraceSample, int)>();
        gaps = [];
        while (trace.TryRead(out var sample, out var axis, out var gap))
        {
            seen.Add((sample, axis));
            if (gap is { } missing)
            {
                gaps.Add(missing);
            }
        }

        return seen;
    }
}
