using Supervisor.Bus.Gpio;

namespace Supervisor.Bus.Tests.Gpio;

/// <summary>Acts on the first edge, waits only with the release (common practice, no source).</summary>
public sealed class GpioContactTests
{
    private GpioContact _contact = new(TimeSpan.FromMilliseconds(20));
    private uint _sequence;

    [Fact]
    public void TakeLevel_FirstOne_IsClosedOnlyAfterTheReleaseTime()
    {
        _contact.TakeLevel(true, Ms(100));
        Assert.True(_contact.IsKnown);
        Assert.False(_contact.IsClosed);
        _contact.TakeLevel(true, Ms(119));
        Assert.False(_contact.IsClosed);
        _contact.TakeLevel(true, Ms(120));
        Assert.True(_contact.IsClosed);
        Assert.Equal(Ms(100), _contact.ChangedAt);
    }

    [Fact]
    public void Take_FallingEdgeOfAMillisecond_OpensAtItsStamp()
    {
        Close();

        Assert.True(Edge(false, 200));
        Assert.False(_contact.IsClosed);
        Assert.Equal(Ms(200), _contact.ChangedAt);
        Assert.False(Edge(true, 201));
        _contact.TakeLevel(true, Ms(202));
        Assert.False(_contact.IsClosed);
        _contact.TakeLevel(true, Ms(221));
        Assert.True(_contact.IsClosed);
    }

    [Fact]
    public void Take_BouncingRelease_CountsFromTheLastRise()
    {
        Close();
        Edge(false, 200);
        foreach (var at in new[] { 210, 218, 226 })
        {
            Edge(true, at);
            _contact.TakeLevel(true, Ms(at + 3));
            Edge(false, at + 4);
            _contact.TakeLevel(false, Ms(at + 5));
        }

        Edge(true, 240);
        _contact.TakeLevel(true, Ms(259));
        Assert.False(_contact.IsClosed);
        _contact.TakeLevel(true, Ms(260));
        Assert.True(_contact.IsClosed);
        Assert.Equal(Ms(240), _contact.ChangedAt);
    }

    [Fact]
    public void Take_GapInTheSequenceWhileClosed_IsAnOpening()
    {
        Close();

        // Lost: a falling and a rising edge and more; what comes is a rising one, and the level is 1 again.
        _sequence += 3;
        Assert.True(Edge(true, 300));
        Assert.False(_contact.IsClosed);
        Assert.Equal(3, _contact.LostEdges);
    }

    [Fact]
    public void Take_SequenceAtItsEnd_GoesOnAtZeroWithoutAGap()
    {
        _contact.Take(new GpioEdge(Ms(1), true, uint.MaxValue));
        _contact.TakeLevel(true, Ms(100));
        Assert.True(_contact.IsClosed);
        var lost = _contact.LostEdges;

        _contact.Take(new GpioEdge(Ms(101), true, 0));

        Assert.Equal(lost, _contact.LostEdges);
        Assert.True(_contact.IsClosed);
    }

    [Fact]
    public void TakeLevel_ZeroWithoutAnEdge_Opens()
    {
        Close();

        _contact.TakeLevel(false, Ms(400));

        Assert.False(_contact.IsClosed);
        Assert.Equal(Ms(400), _contact.ChangedAt);
    }

    private static TimeSpan Ms(int ms) => TimeSpan.FromMilliseconds(ms);

    private bool Edge(bool rising, int at) => _contact.Take(new GpioEdge(Ms(at), rising, ++_sequence));

    private void Close()
    {
        Edge(true, 50);
        _contact.TakeLevel(true, Ms(100));
        Assert.True(_contact.IsClosed);
    }
}
