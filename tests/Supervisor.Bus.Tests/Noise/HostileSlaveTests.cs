using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Noise;

/// <summary>Slaves that misbehave, in simulated time: nothing wrong is taken, nothing hangs, and a good slave is heard at once.</summary>
public sealed class HostileSlaveTests : IDisposable
{
    private const int Seed = 41;
    private const int Rounds = 400;
    private const byte Unit = 5;
    private static readonly TimeSpan Timeout = TimeSpan.FromMilliseconds(20);

    private readonly SimulatedLine _line = new();
    private readonly RegisterArray _map = new(0, 100);
    private readonly Random _random = new(Seed);
    private readonly RtuMasterDriver _driver;
    private readonly HostileSlave _slave;
    private readonly Transaction _transaction = new();
    private int _count;

    public HostileSlaveTests()
    {
        var slave = new RtuSlave();
        slave.Serve(Unit, _map);
        _slave = new HostileSlave(slave, _random);
        _driver = new RtuMasterDriver(new RtuMaster(Lines.Usual), _line, _line);
        _line.OnWrite = request =>
        {
            foreach (var (after, bytes) in _slave.Answer(request, Timeout))
            {
                _line.Deliver(Lines.Usual.CharacterTime(request.Length) + after, bytes);
            }
        };
    }

    public void Dispose() => _line.Dispose();

    /// <summary>The longest an attempt may take: the wait for late answers of its shape, for the end of a babble, the request, the answer and a gap.</summary>
    private static TimeSpan Longest => (3 * Timeout) + Lines.Usual.CharacterTime(3 * Transaction.MaximumFrameBytes) + (4 * Lines.Usual.FrameGap);

    [Theory]
    [InlineData(Manner.Endless)]
    [InlineData(Manner.OneBehind)]
    [InlineData(Manner.Dribbling)]
    [InlineData(Manner.OtherUnit)]
    [InlineData(Manner.EchoOnly)]
    [InlineData(Manner.EchoAndAnswer)]
    public void Run_EachManner_TakesNothingWrongEndsInTimeAndHearsTheNextGoodAnswer(Manner manner)
    {
        _slave.Manner = manner;
        var taken = 0;
        for (var round = 0; round < (manner == Manner.Endless ? Rounds / 10 : Rounds); round++)
        {
            _slave.IsGood = false;
            for (var i = _random.Next(1, 5); i > 0; i--)
            {
                taken += Exchange(round) == TransactionResult.Reply ? 1 : 0;
            }

            // It is repaired, or pulled off the line: what it had not said yet is never heard.
            _slave.IsGood = true;
            _line.Silence();
            var again = Exchange(round);
            Assert.True(again == TransactionResult.Reply || Exchange(round) == TransactionResult.Reply, $"Seed {Seed}, round {round}: {again}, then {_transaction.Result}.");
        }

        // Only one that begins with the answer is heard at all.
        Assert.Equal(manner == Manner.Endless, taken > 0);
    }

    [Fact]
    public void Run_OneBehindWithTheSameRequestAgainAndAgain_IsFoundOutByTheNextOfAnotherShape()
    {
        // Answers to the same request look alike: that one is an exchange old can't be seen. One of another shape shows it, whatever comes first.
        _slave.Manner = Manner.OneBehind;
        Read(10, 4);
        var stale = 0;
        for (var i = 0; i < 20; i++)
        {
            _map[10] = (ushort)(1000 + i);
            stale += Read(10, 4) == TransactionResult.Reply && _transaction.ReplyRegister(0) != 1000 + i ? 1 : 0;
        }

        Assert.True(stale > 10, "It was not behind.");
        Assert.Equal(TransactionResult.Garbled, Read(20, 2));
        Assert.NotEqual(TransactionResult.Reply, Read(10, 4));
    }

    private TransactionResult Exchange(int round)
    {
        // No two in a row of the same shape: by it a slave that is behind is known.
        var begun = _line.Now;
        var values = Enumerable.Range(0, 100).Select(_ => (ushort)_random.Next(65536)).ToArray();
        values.CopyTo(_map.Values, 0);
        _count = 1 + ((_count + _random.Next(1, 19)) % 20);
        var result = Read((ushort)_random.Next(80), (ushort)_count, out var start);
        Assert.True(_line.Now - begun <= Longest, $"Seed {Seed}, round {round}: it took {_line.Now - begun}.");
        if (result == TransactionResult.Reply)
        {
            Assert.Equal(values[start..(start + _count)], Enumerable.Range(0, _count).Select(_transaction.ReplyRegister));
        }

        return result;
    }

    private TransactionResult Read(ushort start, ushort count) => Read(start, count, out _);

    private TransactionResult Read(ushort start, ushort count, out ushort from)
    {
        from = start;
        _transaction.Read(Unit, FunctionCode.ReadHoldingRegisters, start, count);
        _transaction.ReplyTimeout = Timeout;
        return _driver.Run(_transaction);
    }
}
