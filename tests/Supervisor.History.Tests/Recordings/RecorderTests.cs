using Supervisor.History.Recordings;
using Supervisor.Records.Tracing;
using static Supervisor.History.Tests.Recordings.TraceRig;

namespace Supervisor.History.Tests.Recordings;

/// <summary>What is cut out of the rings, and what is told of samples that are missing.</summary>
public sealed class RecorderTests
{
    [Fact]
    public void Step_AfterAnEvent_KeepsEverySampleFromBeforeToBehind()
    {
        var rig = new TraceRig();
        rig.RunTo(105);
        rig.Tell(105);
        rig.RunTo(107);

        var kept = Assert.Single(rig.Kept);
        Assert.Equal((Seconds(105), Seconds(103), Seconds(106)), (kept.At, kept.From, kept.To));
        Assert.Equal(0, kept.Gaps);
        Assert.Equal(300, Decode(kept).Samples[2].Count);
        rig.AssertHoldsAll(kept);
    }

    [Fact]
    public void Step_NoEvent_KeepsNothing()
    {
        var rig = new TraceRig();
        rig.RunTo(120);
        Assert.Empty(rig.Kept);
        Assert.False(rig.Recorder.IsRecording);
    }

    [Fact]
    public void Step_FurtherEvent_MovesTheEnd()
    {
        var rig = new TraceRig();
        rig.RunTo(105);
        rig.Tell(105);
        rig.RunTo(105.9);
        rig.Tell(105.8);
        rig.RunTo(110);

        var kept = Assert.Single(rig.Kept);
        Assert.Equal((Seconds(103), Seconds(106.8), 2), (kept.From, kept.To, kept.Events));
        rig.AssertHoldsAll(kept);
    }

    [Fact]
    public void Step_StormOfEvents_EndsAtTheLongestAndLeavesTheRestOut()
    {
        var rig = new TraceRig();
        for (var at = 105.0; at < 200; at += 0.5)
        {
            rig.RunTo(at);
            rig.Tell(at);
        }

        rig.RunTo(205);

        Assert.Equal(6, rig.Kept.Sum(kept => (kept.To - kept.From).TotalSeconds), 6);
        Assert.True(rig.Kept[0].EventsBeyond > 0);
        Assert.True(rig.Recorder.EventsLeftOut > 100, $"{rig.Recorder.EventsLeftOut}");

        // After a rest of the time before and behind it records again.
        rig.RunTo(210);
        rig.Tell(209);
        rig.RunTo(212);
        Assert.Equal(Seconds(207), rig.Kept[^1].From);
    }

    [Fact]
    public void Step_EventsApart_MakeRecordingsThatDoNotOverlap()
    {
        var rig = new TraceRig(longest: 60);
        rig.RunTo(105);
        rig.Tell(105);
        rig.RunTo(107.5);
        rig.Tell(107.5);
        rig.RunTo(110);

        Assert.Equal([(Seconds(103), Seconds(106)), (Seconds(106), Seconds(108.5))], rig.Kept.Select(kept => (kept.From, kept.To)));
        Assert.All(rig.Kept, kept => Assert.Equal(0, kept.Gaps));
    }

    [Fact]
    public void Step_StopThatIsToldWhenItEnded_StillHasItsBefore()
    {
        var rig = new TraceRig();
        rig.RunTo(105);
        rig.Tell(102.5);
        rig.RunTo(106);

        rig.AssertHoldsAll(Assert.Single(rig.Kept));
        Assert.Equal((Seconds(100.5), 0), (rig.Kept[0].From, rig.Kept[0].Gaps));
    }

    [Fact]
    public void Step_OneSampleIsMissing_TellsTheGap()
    {
        var rig = new TraceRig { Change = sample => sample.Axis == 2 && sample.Cycle == 450 ? null : sample };
        rig.RunTo(105);
        rig.Tell(105);
        rig.RunTo(107);

        var gap = Assert.Single(Decode(rig.Kept[0]).Head.Gaps);
        Assert.Equal((2, 1, GapCause.NotExchanged), (gap.Axis, gap.Cycles, gap.Cause));
        Assert.Equal(Cycle * 2, gap.To - gap.From);
        Assert.Equal(1, rig.Kept[0].Gaps);
    }

    [Fact]
    public void Step_DriveIsLost_TellsOneGapAndWhy()
    {
        // Lost in cycle 450, asked again every 20th, back in 490.
        var rig = new TraceRig
        {
            Change = sample => sample.Axis != 0 || sample.Cycle < 450 || sample.Cycle >= 490 ? sample
                : sample.Cycle % 20 == 10 ? sample with { Flags = TraceFlags.None, Result = ExchangeResult.NoReply } : null,
        };
        rig.RunTo(105);
        rig.Tell(105);
        rig.RunTo(107);

        var gap = Assert.Single(Decode(rig.Kept[0]).Head.Gaps);
        Assert.Equal((0, GapCause.Offline, 38), (gap.Axis, gap.Cause, gap.Cycles));
        Assert.Contains(Decode(rig.Kept[0]).Samples[0], sample => !sample.Fresh);
    }

    [Fact]
    public void Step_RecorderIsTooLate_TellsWhatWasOverwritten()
    {
        // 256 samples are 1.28 s of a port; the recorder gets its turn in time once, then every 2 s.
        var rig = new TraceRig(capacity: 256, after: 5, longest: 10) { StepEvery = 50 };
        rig.RunTo(105.4);
        rig.Tell(105);
        rig.RunTo(105.6);
        rig.StepEvery = 200;
        rig.RunTo(114);

        var recording = Decode(rig.Kept[0]);
        Assert.All(recording.Head.Gaps, gap => Assert.Equal(GapCause.Overtaken, gap.Cause));
        Assert.Equal([0, 1, 2, 3], recording.Head.Gaps.Where(gap => gap.From > Seconds(105.6)).Select(gap => gap.Axis).Distinct().Order());
        for (var axis = 0; axis < 4; axis++)
        {
            // What is there and what is told to be missing are together all that there was, but for the edges.
            var cycles = recording.Samples[axis].Count + recording.Head.Gaps.Where(gap => gap.Axis == axis).Sum(gap => gap.Cycles);
            Assert.InRange(cycles, 698, 701);
            Assert.NotEmpty(recording.Samples[axis]);
        }
    }

    [Fact]
    public void Step_PortFallsSilent_EndsAllTheSameAndTellsIt()
    {
        var rig = new TraceRig { Change = sample => sample.Axis < 2 || sample.Cycle <= 480 ? sample : null };
        rig.RunTo(105);
        rig.Tell(105);
        rig.RunTo(110);

        var gaps = Decode(Assert.Single(rig.Kept)).Head.Gaps;
        Assert.Equal([2, 3], gaps.Select(gap => gap.Axis));
        Assert.All(gaps, gap => Assert.Equal((GapCause.NotExchanged, Seconds(106)), (gap.Cause, gap.To)));
    }

    [Fact]
    public void Step_EventSoonAfterTheStart_TellsThatThereWasNothingBefore()
    {
        var rig = new TraceRig();
        rig.RunTo(100.5);
        rig.Tell(100.5);
        rig.RunTo(103);

        var gaps = Decode(rig.Kept[0]).Head.Gaps;
        Assert.Equal(4, gaps.Count);
        Assert.All(gaps, gap => Assert.Equal((GapCause.NotBegun, Seconds(98.5)), (gap.Cause, gap.From)));
    }

    [Fact]
    public void End_InTheMidst_KeepsWhatThereIs()
    {
        var rig = new TraceRig();
        rig.RunTo(105);
        rig.Tell(105);
        rig.RunTo(105.4);
        rig.Recorder.End(rig.Now + (Cycle / 2));

        Assert.Equal(Seconds(105.405), rig.Kept[0].To);
        rig.AssertHoldsAll(rig.Kept[0]);
    }

    [Fact]
    public void Step_OnlyStopsThatWereAskedFor_IsMinor()
    {
        var rig = new TraceRig();
        rig.RunTo(105);
        rig.Tell(105, isMinor: true);
        rig.RunTo(120);
        rig.Tell(120, isMinor: true);
        rig.Tell(120);
        rig.RunTo(122);

        Assert.Equal([true, false], rig.Kept.Select(kept => kept.IsMinor));
    }
}
