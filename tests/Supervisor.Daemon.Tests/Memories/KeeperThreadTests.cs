using Supervisor.Bus;
using Supervisor.Daemon.Memories;

namespace Supervisor.Daemon.Tests.Memories;

public sealed class KeeperThreadTests
{
    private readonly List<string> _told = [];
    private bool _isChanged;
    private bool _isBroken;
    private int _written;

    [Fact]
    public void Step_NothingChanged_WritesNothing()
    {
        Assert.True(Keeper().Step());
        Assert.Equal(0, _written);
    }

    [Fact]
    public void Step_AfterAFailure_WritesWithoutAFurtherChangeAndTellsTheFirstOnly()
    {
        var keeper = Keeper();
        (_isChanged, _isBroken) = (true, true);

        Assert.False(keeper.Step());
        Assert.False(keeper.Step());
        Assert.Equal(["no room"], _told);

        _isBroken = false;
        Assert.True(keeper.Step());
        Assert.True(keeper.Step());
        Assert.Equal(1, _written);

        (_isChanged, _isBroken) = (true, true);
        Assert.False(keeper.Step());
        Assert.Equal(["no room", "no room"], _told);
    }

    [Fact]
    public void Stop_WithSomethingLeft_WritesIt()
    {
        var keeper = Keeper();
        keeper.Start();
        Volatile.Write(ref _isChanged, true);

        Assert.True(keeper.Stop(TimeSpan.FromSeconds(30)));
        Assert.Equal(1, _written);
    }

    [Fact]
    public void Stop_NeverStarted_EndsAtOnce() => Assert.True(Keeper().Stop(TimeSpan.Zero));

    private KeeperThread Keeper() => new("kept", TakeChange, Write, exception => _told.Add(exception.Message), MonotonicClock.System);

    private bool TakeChange() => Interlocked.Exchange(ref _isChanged, false);

    private void Write()
    {
        if (_isBroken)
        {
            throw new IOException("no room");
        }

        _written++;
    }
}
