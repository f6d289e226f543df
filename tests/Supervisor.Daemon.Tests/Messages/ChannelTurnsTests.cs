using Supervisor.Daemon.Messages;

namespace Supervisor.Daemon.Tests.Messages;

public sealed class ChannelTurnsTests
{
    [Fact]
    public void Step_OneChannelThrows_OthersGoOnAndItIsTriedAgainAfterARest()
    {
        var (tries, others, told) = (0, 0, new List<int>());
        var turns = new ChannelTurns(
            [
                () => others++,
                () => throw new InvalidOperationException($"try {++tries}"),
                () => others++,
            ],
            (channel, _) => told.Add(channel));

        turns.Step(TimeSpan.Zero);
        turns.Step(ChannelTurns.Rest - TimeSpan.FromTicks(1));
        Assert.Equal((1, 4), (tries, others));

        turns.Step(ChannelTurns.Rest);
        Assert.Equal((2, 6), (tries, others));
        Assert.Equal([1, 1], told);
    }
}
