using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Statistics;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.History.Tests.Statistics;

/// <summary>Time between failures and to repair. Hours of a day; axis dibber faults and comes back.</summary>
public sealed class DependabilityTests
{
    // Availability MTBF / (MTBF + MTTR), worked examples of reliability handbooks: 990 h and 10 h give 0.9900, 2000 h and 4 h give 0.998004.
    [Theory]
    [InlineData(990, 10, 0.9900)]
    [InlineData(2_000, 4, 0.998004)]
    public void Availability_WorkedExamples(double up, double down, double expected)
    {
        var told = new RecordedDays(0, up + down).Start(-1).Fault(up).Back(up + down - 1e-6).End(up + down).Result().Dependability;

        Assert.Equal(up, told.BetweenFailures!.Value.TotalHours, 4);
        Assert.Equal(down, told.ToRepair!.Value.TotalHours, 4);
        Assert.Equal(expected, told.Availability!.Value, 6);
    }

    [Fact]
    public void SeveralFailures_MeansAreTotalsByCounts()
    {
        var told = new RecordedDays(0, 24).Start(0).Fault(4).Back(5).Fault(10).Back(13).End(24).Result().Dependability;

        Assert.Equal((20.0, 4.0, 2, 2), (told.Up.TotalHours, told.Down.TotalHours, told.Failures, told.Repairs));
        Assert.Equal((10.0, 2.0), (told.BetweenFailures!.Value.TotalHours, told.ToRepair!.Value.TotalHours));
        Assert.Equal(10.0 / 12, told.Availability!.Value, 9);
    }

    [Fact]
    public void OpenAtTheEnd_TimeCountsButNoRepair()
    {
        var told = new RecordedDays(0, 12, runsAtHour: 30).Start(0).Fault(9).Result();

        Assert.Equal((9.0, 3.0, 1, 0), (told.Dependability.Up.TotalHours, told.Dependability.Down.TotalHours, told.Dependability.Failures, told.Dependability.Repairs));
        Assert.True(told.Dependability.IsDown);
        Assert.Null(told.Dependability.Availability);
        Assert.Equal(0.75, told.Dependability.UpShare!.Value, 9);
        Assert.Equal(TimeSpan.Zero, told.NotKnown);
    }

    [Fact]
    public void PeriodBeginsInTheMidst_OnlyWhatIsInsideCounts()
    {
        var told = new RecordedDays(10, 20).Start(0).Fault(8).Back(12).Fault(18).Back(22).End(24).Result();

        Assert.Equal((6.0, 4.0), (told.Dependability.Up.TotalHours, told.Dependability.Down.TotalHours));
        Assert.Equal((1, 1, 1, 1), (told.Dependability.Failures, told.Dependability.Repairs, told.Incidents, told.Faults));
    }

    [Fact]
    public void RestartWithoutAnEnd_TimeAfterTheLastSignOfLifeIsNotKnown()
    {
        var told = new RecordedDays(0, 24).Start(0).Fault(6).Live(8).Start(11).End(20).Result();

        Assert.Equal((6.0 + 9, 2.0, 3.0, 4.0), (told.Dependability.Up.TotalHours, told.Dependability.Down.TotalHours, told.NotKnown.TotalHours, told.NotRunning.TotalHours));
        Assert.Equal((1, 0), (told.Dependability.Failures, told.Dependability.Repairs));
        Assert.False(told.Dependability.IsDown);
    }

    [Fact]
    public void AnotherBootAfterAnEndInOrder_IsNotRunning()
    {
        var days = new RecordedDays(0, 24).Start(1).Fault(2).End(3);
        (days.Boot, days.Ahead) = ("boot-2", 9);
        var told = days.Start(1).End(4).Result();

        Assert.Equal((1.0 + 3, 1.0), (told.Dependability.Up.TotalHours, told.Dependability.Down.TotalHours));
        Assert.Equal((7.0 + 11, 1.0), (told.NotRunning.TotalHours, told.NotKnown.TotalHours));
    }

    [Fact]
    public void TwoIncidentsAtOnce_AreOneFailureOfTheMachine()
    {
        var told = new RecordedDays(0, 10).Start(0).Fault(2).Fault(3, "tray", FaultCode.OverCurrent).Back(4).Back(5, "tray").End(10).Result();

        Assert.Equal((2, 1, 1, 3.0), (told.Incidents, told.Dependability.Failures, told.Dependability.Repairs, told.Dependability.Down.TotalHours));
        Assert.Equal([("dibber", 7200.0), ("tray", 7200.0)], told.AxesByDownTime.Select(line => (line.Key, line.Value)));
    }

    [Fact]
    public void OfOneAxis_OthersLeaveItUp()
    {
        var told = new RecordedDays(0, 10, "tray").Start(0).Fault(2).Fault(3, "tray").Back(4).Back(5, "tray").End(10).Result();

        Assert.Equal((1, 1, 2.0, 8.0), (told.Incidents, told.Faults, told.Dependability.Down.TotalHours, told.Dependability.Up.TotalHours));
    }

    [Fact]
    public void OnlyWhatHadBeenInUse_HasToBeEnergisedToBeBack()
    {
        var idle = new RecordedDays(0, 10).Start(0).Fault(2, state: AxisState.Disabled).Back(3, step: ReturnStep.Cleared).End(10).Result().Dependability;
        var moving = new RecordedDays(0, 10).Start(0).Fault(2).Back(3, step: ReturnStep.Cleared).Back(6).End(10).Result().Dependability;

        Assert.Equal((1.0, 4.0), (idle.Down.TotalHours, moving.Down.TotalHours));
    }

    [Fact]
    public void ClockSetBackInTheMidst_DurationsAreThoseOfTheMonotonicClock()
    {
        var days = new RecordedDays(-24, 48).Start(0).Fault(4);
        days.Ahead = -1;
        var told = days.Back(6).End(10).Result().Dependability;

        Assert.Equal((8.0, 2.0), (told.Up.TotalHours, told.Down.TotalHours));
    }

    [Fact]
    public void ClockNeverSet_IsToldApart()
    {
        var days = new RecordedDays(0, 24).Start(1).End(2);
        (days.Boot, days.Quality, days.Ahead) = ("boot-2", UtcQuality.Unsynchronised, -24 * 365 * 61);
        days.Start(0).Fault(1).End(3);
        (days.Boot, days.Quality, days.Ahead) = ("boot-3", UtcQuality.Synchronised, 0);
        var told = days.Start(9).End(10).Result();

        Assert.Equal((3.0, 3, 0), (told.Undated.TotalHours, told.UndatedRecords, told.Faults));
        Assert.Equal((2.0, 0.0, 14.0), (told.Dependability.Up.TotalHours, told.Dependability.Down.TotalHours, told.NotRunning.TotalHours));
        Assert.Equal(1.0 + 7, told.NotKnown.TotalHours);
    }

    [Fact]
    public void DownTime_IsOfTheCodeThatLed_NotOfWhatFollowed()
    {
        var told = new RecordedDays(0, 10).Start(0)
            .Fault(2, null, FaultCode.PortThreadEnded, incident: 7).Fault(2.0001, "tray", FaultCode.LinkLost, 7, Relation.SameLine).Back(3, "tray")
            .Fault(5).Back(8).End(10).Result();

        Assert.Equal([FaultCode.FollowingError, FaultCode.PortThreadEnded], told.CodesByDownTime.Select(line => line.Key));
        Assert.Equal(10_800 / told.CodesByDownTime.Sum(line => line.Value), told.CodesByDownTime[0].Cumulative, 9);
        Assert.Equal(1, told.CodesByDownTime[1].Cumulative, 9);
        Assert.Equal((3, 2), (told.Faults, told.Incidents));
    }
}
