using Supervisor.Configuration.Alarms;
using Supervisor.Machine.OwnAlarms;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Runtime.Inputs;

namespace Supervisor.Machine.Tests.OwnAlarms;

/// <summary>What a counter counts of an input that is read every 5 ms and silent from 100 ms on.</summary>
public sealed class CounterTests
{
    private TimeSpan _now = TimeSpan.FromSeconds(100);
    private InputReading _input;

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Step_Edges_OneDirectionCounts(bool closings)
    {
        var counter = Make(closings, settleMs: 0);
        for (var i = 0; i < 7; i++)
        {
            Show(counter, closed: false, 50);
            Show(counter, closed: true, 50);
        }

        // The first level is no edge.
        Assert.Equal(closings ? 7 : 6, counter.Count);
    }

    [Fact]
    public void Step_LevelAtTheStart_IsNoEdge()
    {
        var counter = Make(closings: true, settleMs: 0);
        Show(counter, closed: true, 500);
        Assert.Equal(0, counter.Count);
    }

    /// <summary>A pulse shorter than the look, which only its source's stamp tells of.</summary>
    [Fact]
    public void Step_AwayAndBackBetweenTwoLooks_IsOne()
    {
        var counter = Make(closings: true, settleMs: 0);
        Show(counter, closed: true, 50);
        _input.ChangedAt = _now;
        Show(counter, closed: true, 50);
        Assert.Equal(1, counter.Count);
    }

    [Fact]
    public void Step_Bounces_CountOnce()
    {
        var counter = Make(closings: true, settleMs: 20);
        Show(counter, closed: false, 100);
        for (var i = 0; i < 5; i++)
        {
            Show(counter, closed: true, 10);
            Show(counter, closed: false, 10);
        }

        Assert.Equal(0, counter.Count);
        Show(counter, closed: true, 100);
        Assert.Equal(1, counter.Count);
        Show(counter, closed: false, 10);
        Show(counter, closed: true, 100);
        Assert.Equal(1, counter.Count);
    }

    [Fact]
    public void Step_ChangedWhileSilent_IsNotCounted()
    {
        var counter = Make(closings: true, settleMs: 0);
        Show(counter, closed: false, 50);
        _now += TimeSpan.FromSeconds(1);
        counter.Step(_input, _now);
        Show(counter, closed: true, 50);
        Assert.Equal(0, counter.Count);

        Show(counter, closed: false, 50);
        Show(counter, closed: true, 50);
        Assert.Equal(1, counter.Count);
    }

    [Fact]
    public void Add_AndReset_FromWhatWasLeft()
    {
        var counter = new Counter(new CounterDefinition("trays", null), 40);
        counter.Add(2);
        Assert.Equal(42, counter.Count);
        counter.Add(long.MaxValue);
        Assert.Equal(long.MaxValue, counter.Count);
        counter.Reset();
        Assert.Equal(0, counter.Count);
    }

    private static Counter Make(bool closings, double settleMs) => new(
        new CounterDefinition("trays", new CountedInput(Machines.Input(0, "tray.input1"), closings, TimeSpan.FromMilliseconds(settleMs), TimeSpan.FromMilliseconds(100))), 0);

    private void Show(Counter counter, bool closed, double ms)
    {
        for (var passed = 0.0; passed < ms; passed += 5)
        {
            _input.ChangedAt = _input.Known && _input.Closed == closed ? _input.ChangedAt : _now;
            (_input.Known, _input.Closed, _input.At) = (true, closed, _now);
            counter.Step(_input, _now);
            _now += TimeSpan.FromMilliseconds(5);
        }
    }
}
