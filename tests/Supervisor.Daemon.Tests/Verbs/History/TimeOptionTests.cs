using Supervisor.Daemon.Verbs.History;

namespace Supervisor.Daemon.Tests.Verbs.History;

public sealed class TimeOptionTests
{
    private static readonly DateTimeOffset Now = new(2031, 5, 6, 12, 0, 0, TimeSpan.Zero);

    // Two hours ahead in summer, one in winter, as Central Europe: switched on 30 March and 26 October 2031 (Directive 2000/84/EC: last Sundays, 01:00 UTC).
    private static readonly TimeZoneInfo Here = TimeZoneInfo.CreateCustomTimeZone(
        "test", TimeSpan.FromHours(1), "test", "test", "test",
        [
            TimeZoneInfo.AdjustmentRule.CreateAdjustmentRule(
                DateTime.MinValue.Date, DateTime.MaxValue.Date, TimeSpan.FromHours(1),
                TimeZoneInfo.TransitionTime.CreateFloatingDateRule(new DateTime(1, 1, 1, 2, 0, 0), 3, 5, DayOfWeek.Sunday),
                TimeZoneInfo.TransitionTime.CreateFloatingDateRule(new DateTime(1, 1, 1, 3, 0, 0), 10, 5, DayOfWeek.Sunday)),
        ]);

    [Theory]
    [InlineData("90s", "2031-05-06T11:58:30Z")]
    [InlineData("30m", "2031-05-06T11:30:00Z")]
    [InlineData("2h", "2031-05-06T10:00:00Z")]
    [InlineData("1.5h", "2031-05-06T10:30:00Z")]
    [InlineData("3d", "2031-05-03T12:00:00Z")]
    [InlineData("1w", "2031-04-29T12:00:00Z")]
    [InlineData("9999999w", "1970-01-01T00:00:00Z")]
    [InlineData("2031-05-06", "2031-05-05T22:00:00Z")]
    [InlineData("2031-05-06 03:00", "2031-05-06T01:00:00Z")]
    [InlineData("2031-01-06T03:00", "2031-01-06T02:00:00Z")]
    [InlineData("2031-05-06T03:00:01.5", "2031-05-06T01:00:01.5Z")]
    [InlineData("2031-05-06T03:00Z", "2031-05-06T03:00:00Z")]
    [InlineData("2031-05-06T03:00:00-05:00", "2031-05-06T08:00:00Z")]
    [InlineData("2031-05-06 03:00 +02:00", "2031-05-06T01:00:00Z")]
    public void TryParse_Time_IsRead(string text, string utc)
    {
        Assert.True(TimeOption.TryParse(text, Now, Here, out var time));
        Assert.Equal(DateTimeOffset.Parse(utc, System.Globalization.CultureInfo.InvariantCulture), time);
    }

    [Theory]
    [InlineData("")]
    [InlineData("h")]
    [InlineData("2")]
    [InlineData("-2h")]
    [InlineData("2 h")]
    [InlineData("2y")]
    [InlineData("03:00")]
    [InlineData("06.05.2031")]
    [InlineData("2031-13-06")]
    [InlineData("yesterday")]
    public void TryParse_NoTime_IsNot(string text) => Assert.False(TimeOption.TryParse(text, Now, Here, out _));
}
