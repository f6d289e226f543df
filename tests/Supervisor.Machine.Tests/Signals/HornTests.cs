using Supervisor.Machine.Signals;

namespace Supervisor.Machine.Tests.Signals;

/// <summary>When the horn sounds. Occurrences are counted through; 0: nothing waits to be acknowledged.</summary>
public sealed class HornTests
{
    private readonly Horn _horn = new(TimeSpan.FromSeconds(30));
    private TimeSpan _now = TimeSpan.FromSeconds(1000);

    [Fact]
    public void Step_NewAlarm_SoundsUntilAcknowledged()
    {
        Assert.False(Sounds(0));
        Assert.True(Sounds(1, 10));
        Assert.False(Sounds(0));
        Assert.False(Sounds(0, 100));
    }

    [Fact]
    public void Silence_IsForWhatWasHeard_TheNextAlarmSoundsAgain()
    {
        Assert.True(Sounds(1, 5));
        Assert.True(_horn.Silence());
        Assert.False(Sounds(1, 5));
        Assert.False(_horn.Silence());

        Assert.True(Sounds(2));
        Assert.True(_horn.Silence());
        Assert.False(Sounds(2));
    }

    [Fact]
    public void Step_NobodyComes_EndsAfterItsTimeAndSoundsAgainForTheNext()
    {
        Assert.True(Sounds(1));
        Assert.True(Sounds(1, 29.9));
        Assert.False(Sounds(1, 0.2));
        Assert.False(Sounds(1, 10_000));
        Assert.True(Sounds(2));
        Assert.True(Sounds(2, 29.9));
        Assert.False(Sounds(2, 0.2));
    }

    /// <summary>An alarm while it sounds gets its whole time.</summary>
    [Fact]
    public void Step_AlarmWhileItSounds_LastsAnew()
    {
        Assert.True(Sounds(1));
        Assert.True(Sounds(2, 20));
        Assert.True(Sounds(2, 25));
        Assert.False(Sounds(2, 6));
    }

    /// <summary>The newest is acknowledged, an older one that was never silenced is not.</summary>
    [Fact]
    public void Step_OnlyTheNewestAcknowledged_GoesOn()
    {
        Sounds(1);
        Sounds(2);
        Assert.True(Sounds(1));
        _horn.Silence();
        Assert.False(Sounds(1));
    }

    private bool Sounds(long newest, double afterSeconds = 0)
    {
        _now += TimeSpan.FromSeconds(afterSeconds);
        _horn.Step(newest, _now);
        return _horn.Sounds;
    }
}
