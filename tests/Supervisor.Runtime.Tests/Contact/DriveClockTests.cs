using Supervisor.Configuration.Drives;
using Supervisor.Drives.Exchange;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Contact;

/// <summary>A drive's uptime against our clock: was it off in between?</summary>
public sealed class DriveClockTests
{
    private readonly Reader _reader = new();
    private DriveClock _clock;

    [Fact]
    public void FirstReading_ProvesNothing()
    {
        Assert.False(_clock.IsKnown);
        Assert.False(Take(5000, 100));
        Assert.True(_clock.IsKnown);
        Assert.Equal(TimeSpan.FromSeconds(100), _clock.At);
    }

    [Theory]
    [InlineData(10, true)]
    [InlineData(11.5, true)]
    [InlineData(8.5, true)]
    [InlineData(14, false)]
    [InlineData(6, false)]
    public void Reading_AfterTenSeconds_RanThroughWhenTheUptimeWentOnAsLong(double wentSeconds, bool expected)
    {
        Take(50_000, 100);
        Assert.Equal(expected, Take(50_000 + (uint)(wentSeconds * 1000), 110));
    }

    /// <summary>Booted at 100 s, met then, and booted anew at 100.4 s: within the tolerance of two seconds, and yet too short.</summary>
    [Fact]
    public void Drive_StartedAnewSoonAfterItHadStarted_IsFoundOut()
    {
        Take(0, 100);
        Assert.False(Take(700, 101.1));
        Assert.True(Take(1700, 102.1));
        Assert.True(Take(12_000, 112.4));
    }

    /// <summary>A board that stalls takes a reply late; the drive told its uptime when it was asked.</summary>
    [Fact]
    public void Drive_WhoseReplyWasTakenLate_DidNotStartAnew()
    {
        Take(0, 100);
        Assert.True(_clock.RanThrough(_reader.Uptime(510), TimeSpan.FromSeconds(100.5), TimeSpan.FromSeconds(101.2)));

        // Asked that late it would have told more.
        Assert.False(_clock.RanThrough(_reader.Uptime(1_200), TimeSpan.FromSeconds(101.9), TimeSpan.FromSeconds(102)));
    }

    [Fact]
    public void Uptime_OverItsWrap_GoesOn()
    {
        // 2^32 ms are 49.7 days.
        Take(uint.MaxValue - 1999, 100);
        Assert.True(Take(3000, 105));
    }

    [Fact]
    public void DriveClockThatDriftsByFivePerCent_StaysCredible()
    {
        Take(0, 0);
        for (var second = 60; second < 36_000; second += 60)
        {
            Assert.True(Take((uint)(second * 1050), second));
        }
    }

    [Theory]
    [InlineData(0u, 5)]
    [InlineData(3000u, 60)]
    [InlineData(59_000u, 600)]
    public void Restart_IsSeen(uint uptimeMs, double afterSeconds)
    {
        Take(3_600_000, 1000);
        Assert.False(Take(uptimeMs, 1000 + afterSeconds));
        Assert.True(Take(uptimeMs + 1000, 1001 + afterSeconds));
    }

    private bool Take(uint uptimeMs, double atSeconds) => _clock.RanThrough(_reader.Uptime(uptimeMs), TimeSpan.FromSeconds(atSeconds));

    /// <summary>The parameter as a reply fills it.</summary>
    private sealed class Reader
    {
        private readonly HandDrive _drive = new();
        private readonly ReplyTo _reply;
        private readonly Parameter _parameter;

        public Reader()
        {
            _reply = new ReplyTo(_drive);
            _parameter = new Parameter(new ExchangePlan(Parts.Words()), Parts.Words().Parameter("uptime")!, null);
        }

        public Parameter Uptime(uint milliseconds)
        {
            _drive.BootedAt = TimeSpan.FromMilliseconds(-(double)milliseconds);
            _parameter.Read(_reply.Transaction, 1);
            _reply.Answer();
            _parameter.TakeReply(_reply.Transaction);
            Assert.Equal(milliseconds, _parameter.Raw);
            return _parameter;
        }
    }
}
