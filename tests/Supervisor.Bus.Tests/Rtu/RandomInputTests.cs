using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

/// <summary>Input nobody would send. Seeds are in the test's name; a failure names the round.</summary>
public sealed class RandomInputTests
{
    private const int Rounds = 20_000;
    private static readonly TimeSpan Start = TimeSpan.FromSeconds(1);

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(20250101)]
    public void Decoder_MutatedFrames_NeverThrowsAndNeverClaimsMoreThanItGot(int seed)
    {
        var random = new Random(seed);
        var frames = Seeds();
        var found = 0;
        for (var round = 0; round < Rounds; round++)
        {
            var input = Mutate(frames[random.Next(frames.Length)], random);
            var shape = GoldenFrames.Transaction(GoldenFrames.Requests[random.Next(GoldenFrames.Requests.Length)]).Expected;
            foreach (var decoded in new[] { RtuDecoder.Reply(input, shape), RtuDecoder.AnyReply(input), RtuDecoder.Request(input) })
            {
                Assert.True(decoded.Length <= input.Length, $"seed {seed}, round {round}");
                Assert.Equal(decoded.State == DecodeState.Invalid, decoded.Fault != FrameFault.None);
                found += decoded.State == DecodeState.Frame ? 1 : 0;
            }
        }

        Assert.True(found > 0, "No mutation left a frame whole: the test looks at garbage only.");
    }

    [Theory]
    [InlineData(3)]
    [InlineData(4)]
    public void Master_MutatedReplies_AlwaysEndsAndOnlyAWholeReplyIsOne(int seed)
    {
        var random = new Random(seed);
        var line = new SimulatedLine();
        var driver = new RtuMasterDriver(new RtuMaster(Lines.Usual), line, line);
        var results = new int[7];
        for (var round = 0; round < Rounds / 10; round++)
        {
            var pair = GoldenFrames.Pairs.ElementAt(random.Next(5)).Data;
            var transaction = GoldenFrames.Transaction(pair.Item1);
            var input = random.Next(3) == 0 ? Hex.Bytes(pair.Item2) : Mutate(Hex.Bytes(pair.Item2), random);
            line.OnWrite = _ => DeliverInPieces(line, input, random);

            results[(int)driver.Run(transaction)]++;
            Assert.NotEqual(TransactionResult.None, transaction.Result);
            if (transaction.Result == TransactionResult.Reply)
            {
                Assert.True(Crc16.IsIntact(transaction.ReplyFrame), $"seed {seed}, round {round}");
                Assert.Equal(transaction.Expected.Length, transaction.ReplyFrame.Length);
            }
        }

        Assert.All(new[] { TransactionResult.Reply, TransactionResult.TimedOut, TransactionResult.Garbled }, kind => Assert.True(results[(int)kind] > 0, $"{kind} never came."));
    }

    [Theory]
    [InlineData(5)]
    [InlineData(6)]
    public void SlaveAndAssembler_MutatedRequests_NeverThrow(int seed)
    {
        var random = new Random(seed);
        var slave = new RtuSlave();
        var map = new RegisterArray(0, 200);
        slave.Serve(1, map);
        var assembler = new RequestAssembler(TimeSpan.FromMilliseconds(2));
        var reply = new byte[256];
        var frames = Seeds();
        var answered = 0;
        var now = Start;
        for (var round = 0; round < Rounds; round++)
        {
            var input = random.Next(3) == 0 ? frames[random.Next(frames.Length)] : Mutate(frames[random.Next(frames.Length)], random);
            answered += slave.Answer(input, reply) > 0 ? 1 : 0;
            now += TimeSpan.FromMilliseconds(random.Next(4));
            assembler.Add(input, now);
            while (assembler.TryTake(now, out var frame))
            {
                Assert.True(Crc16.IsIntact(frame), $"seed {seed}, round {round}");
                answered += slave.Answer(frame, reply) > 0 ? 1 : 0;
            }
        }

        Assert.True(answered > 0 && map.Writes > 0, "Nothing was ever answered: the test looks at garbage only.");
    }

    private static byte[][] Seeds() =>
        [.. GoldenFrames.Pairs.SelectMany(pair => new[] { pair.Data.Item1, pair.Data.Item2 }).Concat(GoldenFrames.OtherRequests).Concat(GoldenFrames.OtherReplies).Select(Hex.Bytes)];

    private static void DeliverInPieces(SimulatedLine line, byte[] input, Random random)
    {
        var after = TimeSpan.FromMilliseconds(random.Next(30));
        for (var at = 0; at < input.Length;)
        {
            var length = Math.Min(1 + random.Next(8), input.Length - at);
            line.Deliver(after, input[at..(at + length)]);
            after += TimeSpan.FromMilliseconds(random.Next(3));
            at += length;
        }
    }

    private static byte[] Mutate(byte[] frame, Random random)
    {
        var bytes = new List<byte>(frame);
        for (var changes = 1 + random.Next(3); changes > 0; changes--)
        {
            switch (random.Next(5))
            {
                case 0 when bytes.Count > 0:
                    bytes[random.Next(bytes.Count)] = (byte)random.Next(256);
                    break;
                case 1 when bytes.Count > 0:
                    bytes.RemoveAt(random.Next(bytes.Count));
                    break;
                case 2:
                    bytes.Insert(random.Next(bytes.Count + 1), (byte)random.Next(256));
                    break;
                case 3:
                    bytes.AddRange(new byte[random.Next(300)]);
                    break;
                default:
                    bytes = bytes[..random.Next(bytes.Count + 1)];
                    break;
            }
        }

        // Half of them with a CRC that fits, so that what lies behind the check is reached.
        var mutated = bytes.Count > 2 && random.Next(2) == 0 ? Hex.WithCrc(Convert.ToHexString([.. bytes[..^2]])) : [.. bytes];
        return mutated;
    }
}
