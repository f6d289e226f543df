using Supervisor.Runtime.Outputs;
using Xunit;

namespace Supervisor.Runtime.Tests.Outputs;

public sealed class OutputCellTests
{
    private static readonly TimeSpan T0 = TimeSpan.FromSeconds(1);
    private readonly OutputCell _cell = new();

    [Fact]
    public void IsDue_NothingOrdered_NothingIsWritten()
    {
        _cell.Found(on: true, T0);

        Assert.False(_cell.IsDue(out _));
        Assert.True(_cell.Read() is { Known: true, On: true, Acknowledged: 0 });
    }

    [Fact]
    public void IsDue_Ordered_UntilThatOrderIsAcknowledged()
    {
        _cell.Want(on: true);
        Assert.True(_cell.IsDue(out var first) && first.On);
        _cell.Want(on: false);

        _cell.Acknowledge(first, T0);
        Assert.True(_cell.IsDue(out var second) && !second.On);
        _cell.Acknowledge(second, T0);

        Assert.False(_cell.IsDue(out _));
        Assert.Equal(_cell.Order.Number, _cell.Read().Acknowledged);
    }

    [Fact]
    public void Want_SameLevelAnew_IsWrittenAnew()
    {
        _cell.Want(on: true);
        _cell.IsDue(out var first);
        _cell.Acknowledge(first, T0);

        _cell.Want(on: true);

        Assert.True(_cell.IsDue(out var again) && again.On);
    }

    [Fact]
    public void Lose_OrderedOnBefore_IsVoidWhenThePlaceComesBack()
    {
        _cell.Want(on: true);
        _cell.IsDue(out var order);
        _cell.Acknowledge(order, T0);

        _cell.Lose();
        _cell.Found(on: false, T0);

        Assert.False(_cell.IsDue(out _));
        Assert.True(_cell.Read() is { Known: true, On: false, Acknowledged: 0, Losses: 1 });
    }

    [Fact]
    public void Lose_OrderedAfterwards_IsWrittenWhenThePlaceComesBack()
    {
        _cell.Found(on: true, T0);
        _cell.Lose();
        _cell.Want(on: false);
        _cell.Lose();

        _cell.Found(on: true, T0);

        Assert.True(_cell.IsDue(out var order) && !order.On);
        Assert.Equal(1, _cell.Read().Losses);
    }

    [Fact]
    public void Drop_WasOn_IsOffAndDueWithoutTheCoordinator()
    {
        _cell.Want(on: true);
        _cell.IsDue(out var on);
        _cell.Acknowledge(on, T0);

        _cell.Drop();

        Assert.True(_cell.IsDue(out var order) && !order.On);
        _cell.Acknowledge(order, T0);
        Assert.False(_cell.IsDue(out _));
    }

    [Fact]
    public void Want_OnDecidedBeforeADrop_StaysOff()
    {
        var seen = _cell.Drops;
        _cell.Drop();

        _cell.Want(on: true, seen);

        Assert.False(_cell.Order.On);
        _cell.Want(on: true, _cell.Drops);
        Assert.True(_cell.Order.On);
    }

    [Fact]
    public void Read_ConfirmedAgain_KeepsTheTimeOfTheChange()
    {
        _cell.Found(on: true, T0);
        _cell.Found(on: true, T0 + TimeSpan.FromSeconds(1));
        Assert.Equal(T0, _cell.Read().ChangedAt);

        _cell.Found(on: false, T0 + TimeSpan.FromSeconds(2));

        Assert.Equal(T0 + TimeSpan.FromSeconds(2), _cell.Read().ChangedAt);
    }
}
