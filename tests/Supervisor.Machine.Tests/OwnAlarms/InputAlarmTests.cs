using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.OwnAlarms;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Runtime.Inputs;

namespace Supervisor.Machine.Tests.OwnAlarms;

/// <summary>When an input raises its alarm: an input read every 5 ms, raised after 300 ms closed, gone after 500 ms open, silent from 100 ms on.</summary>
public sealed class InputAlarmTests
{
    private InputAlarm _alarm = Make(SilentInput.Keep);
    private TimeSpan _now = TimeSpan.FromSeconds(100);
    private InputReading _input;

    [Fact]
    public void Step_LevelLasts_IsRaisedAfterTheOnDelayAndGoneAfterTheOffDelay()
    {
        Show(closed: false, 1000);
        Assert.False(_alarm.IsRaised);

        Show(closed: true, 295);
        Assert.False(_alarm.IsRaised);
        Show(closed: true, 10);
        Assert.True(_alarm.IsRaised);

        Show(closed: false, 495);
        Assert.True(_alarm.IsRaised);
        Show(closed: false, 10);
        Assert.False(_alarm.IsRaised);
    }

    [Fact]
    public void Step_Chatters_NeverLastsLongEnough()
    {
        for (var i = 0; i < 50; i++)
        {
            Show(closed: true, 250);
            Show(closed: false, 20);
            Assert.False(_alarm.IsRaised);
        }

        Show(closed: true, 310);
        Assert.True(_alarm.IsRaised);
        for (var i = 0; i < 50; i++)
        {
            Show(closed: false, 450);
            Show(closed: true, 20);
            Assert.True(_alarm.IsRaised);
        }
    }

    /// <summary>What changed and changed back between two looks is a break, as its source stamped it.</summary>
    [Fact]
    public void Step_BreakBetweenTwoLooks_BeginsAnew()
    {
        Show(closed: true, 200);
        _input.ChangedAt = _now;
        Show(closed: true, 295);
        Assert.False(_alarm.IsRaised);
        Show(closed: true, 10);
        Assert.True(_alarm.IsRaised);
    }

    [Theory]
    [InlineData(SilentInput.Keep, false, false)]
    [InlineData(SilentInput.Keep, true, true)]
    [InlineData(SilentInput.Raise, false, true)]
    [InlineData(SilentInput.Raise, true, true)]
    [InlineData(SilentInput.Clear, false, false)]
    [InlineData(SilentInput.Clear, true, false)]
    public void Step_Silence_IsWhatTheFileSays(SilentInput whenSilent, bool wasRaised, bool isRaised)
    {
        _alarm = Make(whenSilent);
        Show(closed: wasRaised, 1000);
        Assert.Equal(wasRaised, _alarm.IsRaised);

        Silence(95);
        Assert.Equal(wasRaised, _alarm.IsRaised);
        Silence(2000);
        Assert.Equal(isRaised, _alarm.IsRaised);
    }

    /// <summary>What it was like while it was silent nobody knows: the delay counts from when it is heard again.</summary>
    [Fact]
    public void Step_HeardAgain_DelayBeginsAnew()
    {
        Show(closed: false, 1000);
        Show(closed: true, 150);
        Silence(1000);
        Show(closed: true, 295);
        Assert.False(_alarm.IsRaised);
        Show(closed: true, 10);
        Assert.True(_alarm.IsRaised);
    }

    [Fact]
    public void Step_NeverRead_IsSilenceOnlyAfterTheDrivesHadTimeToBeMet()
    {
        _alarm = Make(SilentInput.Raise);
        Silence(4900);
        Assert.False(_alarm.IsRaised);
        Silence(500);
        Assert.True(_alarm.IsRaised);
    }

    private static InputAlarm Make(SilentInput whenSilent) => new(new AlarmInput(
        Machines.Input(0, "tray.input1"), RaisedWhileClosed: true, TimeSpan.FromMilliseconds(300), TimeSpan.FromMilliseconds(500), whenSilent, TimeSpan.FromMilliseconds(100)));

    private void Show(bool closed, double ms)
    {
        for (var passed = 0.0; passed < ms; passed += 5)
        {
            _input.ChangedAt = _input.Known && _input.Closed == closed ? _input.ChangedAt : _now;
            (_input.Known, _input.Closed, _input.At) = (true, closed, _now);
            _alarm.Step(_input, _now);
            _now += TimeSpan.FromMilliseconds(5);
        }
    }

    private void Silence(double ms)
    {
        for (var passed = 0.0; passed < ms; passed += 5)
        {
            _alarm.Step(_input, _now);
            _now += TimeSpan.FromMilliseconds(5);
        }
    }
}
