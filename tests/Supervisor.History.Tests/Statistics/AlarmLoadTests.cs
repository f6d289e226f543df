using Supervisor.Records.Faults;

namespace Supervisor.History.Tests.Statistics;

/// <summary>Alarm rates by ISA-18.2 and EEMUA 191: a flood starts above 10 in 10 minutes and ends below 5; chattering above 3 a minute; stale above 24 h.</summary>
public sealed class AlarmLoadTests
{
    private const double Minute = 1 / 60.0;

    [Theory]
    [InlineData(10, 0)]
    [InlineData(11, 1)]
    public void Flood_StartsAboveTenInTenMinutes(int alarms, long floods)
    {
        var told = Spaced(alarms, 0.5).End(20).Result().Alarms;

        Assert.Equal((alarms, floods, alarms), (told.Alarms, told.Floods, told.Peak));
    }

    [Fact]
    public void Flood_EndsWhenFewerThanFiveAreLeft()
    {
        // 12 alarms at minutes 0, 0.5 … 5.5: a flood from the 11th at 5; four are left once the one at 3.5 is ten minutes old, at 13.5.
        var told = Spaced(12, 0.5).End(20).Result().Alarms;

        Assert.InRange(told.FloodTime.TotalMinutes, 8.4, 8.6);
    }

    [Fact]
    public void Rate_IsOfTheRunningTime()
    {
        // About one in ten minutes is what EEMUA 191 calls acceptable: 6 in the hour that ran, whatever the hours that did not.
        var told = new RecordedDays(0, 24).Start(0).Fault(0.1).Fault(0.2).Fault(0.3).Fault(0.4).Fault(0.5).Fault(0.6).End(1).Result().Alarms;

        Assert.Equal(1, told.PerTenMinutes!.Value, 9);
        Assert.Equal(RecordedDays.At(0.2), told.PeakAt!.Value, TimeSpan.FromSeconds(1));
    }

    [Theory]
    [InlineData(3, false)]
    [InlineData(4, true)]
    public void Chattering_IsMoreThanThreeAMinute(int alarms, bool chatters)
    {
        var told = Spaced(alarms, 0.2).End(20).Result().Alarms.Chattering;

        Assert.Equal(chatters, told is [{ Source: "dibber", Code: FaultCode.FollowingError, WorstMinute: 4 }]);
        Assert.Equal(chatters ? 1 : 0, told.Count);
    }

    [Theory]
    [InlineData(24, false)]
    [InlineData(25, true)]
    public void Stale_IsLongerThanADay(double hours, bool isStale)
    {
        var told = new RecordedDays(0, 100).Start(0).Fault(10).Back(10 + hours).End(100).Result().Alarms.Stale;

        Assert.Equal(isStale, told is [{ Axis: "dibber", Longest.TotalHours: 25 }]);
        Assert.Equal(isStale ? 1 : 0, told.Count);
    }

    [Fact]
    public void Repeats_CountAsManyAsTheyStandFor()
    {
        var told = new RecordedDays(0, 24).Start(0).Repeats(1, 1 + (20 * Minute), 200).End(20).Result();

        Assert.Equal((200, 200, 1), (told.Alarms.Alarms, told.Faults, told.Alarms.Floods));
        Assert.InRange(told.Alarms.Peak, 99, 101);
        Assert.Equal(10, told.Alarms.Chattering.Single().WorstMinute, 1.0);
    }

    [Fact]
    public void Warnings_AlarmButAreNoFaults()
    {
        var told = new RecordedDays(0, 24).Start(0).Fault(1, code: FaultCode.StopsLonger, of: FaultClass.Warning).End(20).Result();

        Assert.Equal((1, 1, 0, 0), (told.Alarms.Alarms, told.Warnings, told.Faults, told.Dependability.Failures));
    }

    private static RecordedDays Spaced(int alarms, double minutes)
    {
        var days = new RecordedDays(0, 24).Start(0);
        for (var number = 0; number < alarms; number++)
        {
            days.Fault(1 + (number * minutes * Minute));
        }

        return days;
    }
}
