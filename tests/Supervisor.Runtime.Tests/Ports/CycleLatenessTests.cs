using Supervisor.Runtime.Ports;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Ports;

/// <summary>Cycles that a port could not keep, by themselves and as a stepper counts them.</summary>
public sealed class CycleLatenessTests
{
    private static readonly TimeSpan Start = TimeSpan.FromHours(30);

    [Fact]
    public void Of_Windows_HoldWhatFellIntoThemAndTheTotalHoldsAll()
    {
        var lateness = new CycleLateness();
        lateness.Note(Ms(95), 2, Start);
        lateness.Note(Ms(3), 0, Start + TimeSpan.FromSeconds(20));
        lateness.Note(Ms(50), 1, Start + TimeSpan.FromMinutes(30));

        Assert.Equal((3, Ms(95)), lateness.Of(60, Start + TimeSpan.FromMinutes(31)));
        Assert.Equal((1, Ms(50)), lateness.Of(1, Start + TimeSpan.FromMinutes(31)));
        Assert.Equal((0, TimeSpan.Zero), lateness.Of(1, Start + TimeSpan.FromMinutes(45)));
        Assert.Equal((1, Ms(50)), lateness.Of(60, Start + TimeSpan.FromMinutes(75)));
        Assert.Equal((0, TimeSpan.Zero), lateness.Of(60, Start + TimeSpan.FromHours(5)));
        Assert.Equal((3, Ms(95)), (lateness.Skipped, lateness.Worst));
    }

    [Fact]
    public void Of_AMinuteOfAnEarlierHour_IsNotCountedForTheOneInItsPlace()
    {
        var lateness = new CycleLateness();
        for (var minute = 0; minute < 500; minute++)
        {
            lateness.Note(Ms(minute), minute % 7 == 0 ? 1 : 0, Start + TimeSpan.FromMinutes(minute));
        }

        // The minute that runs and sixty before it: 439 to 499.
        Assert.Equal((Enumerable.Range(439, 61).Count(minute => minute % 7 == 0), Ms(499)), lateness.Of(60, Start + TimeSpan.FromMinutes(499)));
    }

    [Fact]
    public void Stepper_KeptFromRunning_CountsTheCyclesItSkippedAndBeatsAgain()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        rig.Meet();
        rig.Run(2000);
        var before = rig.Board.Ports[0].Port.Read();
        Assert.Equal(0, before.Overruns);

        // 40 ms a cycle: the computer stands still for a little more than three.
        rig.StandStill(130);
        rig.Run(1500);
        var after = rig.Board.Ports[0].Port.Read();
        Assert.InRange(after.Overruns, 2, 3);
        Assert.InRange(after.WorstLate.TotalMilliseconds, 80, 130);
        Assert.Equal((after.Overruns, after.WorstLate), (after.OverrunsLastMinute, after.WorstLateLastMinute));
        Assert.Equal(after.Overruns, after.OverrunsLastHour);
        Assert.True(after.At > before.At);
    }

    [Fact]
    public void Stepper_WhoseDeviceIsGone_BeatsAndCountsNoOverruns()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        rig.Meet();
        rig.Fate = (_, _) => -2;
        rig.CanOpen = false;
        rig.Run(5_000);
        var port = rig.Board.Ports[0].Port.Read();
        Assert.False(port.Open);
        Assert.Equal(0, port.Overruns);
        Assert.True(rig.Now - port.At < TimeSpan.FromMilliseconds(10), "an unplugged port steps all the same");
    }

    private static TimeSpan Ms(double ms) => TimeSpan.FromMilliseconds(ms);
}
