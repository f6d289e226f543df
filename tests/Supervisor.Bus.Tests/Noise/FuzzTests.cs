using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Noise;

/// <summary>
/// Random and changed input, ten million of each with <c>SUPERVISOR_LONG=1</c>: nothing throws, nothing behind the input is looked at, and what the
/// decoder says is what a slow one of the test's own says.
/// </summary>
public sealed class FuzzTests(ITestOutputHelper output)
{
    private static readonly int Inputs = Amount.Of(200_000, 10_000_000);
    private static readonly byte[][] Requests = [.. GoldenFrames.Pairs.Select(pair => Hex.Bytes(pair.Data.Item1))];
    private static readonly byte[][] Replies = [.. GoldenFrames.Pairs.Select(pair => Hex.Bytes(pair.Data.Item2))];
    private static readonly ReplyShape[] Shapes = [.. GoldenFrames.Pairs.Select(pair => GoldenFrames.Transaction(pair.Data.Item1).Expected)];

    [Fact]
    public void Reply_RandomAndChangedInput_IsWhatTheSlowDecoderSays()
    {
        const int seed = 61;
        var random = new Random(seed);
        var mutator = new Mutator(random);
        var buffer = new byte[1024];
        var seen = new int[3];
        for (var i = 0; i < Inputs; i++)
        {
            var pair = random.Next(Requests.Length);
            var input = i % 2 == 0 ? mutator.Changed(Replies[pair]) : mutator.OfChance(Requests[pair][0], Requests[pair][1]);
            var decoded = RtuDecoder.Reply(input, Shapes[pair]);
            var slow = SlowDecoder.Reply(input, Requests[pair]);
            if (decoded.State != slow.State || decoded.Length != slow.Length || decoded.IsException != slow.IsException || decoded.Length > input.Length)
            {
                Assert.Fail($"Seed {seed}, input {i}: {Convert.ToHexString(input)} as a reply to {Convert.ToHexString(Requests[pair])} is {decoded}, not {slow}.");
            }

            Assert.Equal(decoded.State == DecodeState.Invalid, decoded.Fault != FrameFault.None);
            seen[(int)decoded.State]++;
            CheckBehind(input, Shapes[pair], decoded, buffer, random, seed, i);
            _ = RtuDecoder.AnyReply(input);
        }

        Report(seed, seen);
    }

    [Fact]
    public void Request_RandomAndChangedInput_IsWhatTheSlowDecoderSays()
    {
        const int seed = 62;
        var random = new Random(seed);
        var mutator = new Mutator(random);
        var seen = new int[3];
        for (var i = 0; i < Inputs; i++)
        {
            var of = Requests[random.Next(Requests.Length)];
            var input = i % 2 == 0 ? mutator.Changed(of) : mutator.OfChance(of[0], of[1]);
            var decoded = RtuDecoder.Request(input);
            var length = SlowDecoder.RequestLength(input);
            var wanted = length == 0 || length > Transaction.MaximumFrameBytes ? DecodeState.Invalid
                : length < 0 || input.Length < length ? DecodeState.Incomplete
                : SlowCrc.Fits(input[..length]) ? DecodeState.Frame : DecodeState.Invalid;
            if (decoded.State != wanted || decoded.Length > input.Length || (wanted == DecodeState.Frame && decoded.Length != length))
            {
                Assert.Fail($"Seed {seed}, input {i}: {Convert.ToHexString(input)} is {decoded}, not {wanted} of {length}.");
            }

            seen[(int)decoded.State]++;
        }

        Report(seed, seen);
    }

    [Fact]
    public void AssemblerAndSlave_RandomAndChangedInput_KeepCountOfEachByteAndAnswerWholeFrames()
    {
        const int seed = 63;
        var random = new Random(seed);
        var mutator = new Mutator(random);
        var slave = new RtuSlave();
        slave.Serve(1, new IdentifiedArray(new DeviceIdentity("Maker", "TS-4", "1.2")));
        slave.Serve(2, new BitArray(500));
        var silence = TimeSpan.FromMilliseconds(2);
        var assembler = new RequestAssembler(silence);
        var now = TimeSpan.FromSeconds(1);
        var reply = new byte[256];
        var (fed, taken, answered) = (0L, 0L, 0);
        for (var i = 0; i < Inputs; i++)
        {
            var of = Requests[random.Next(Requests.Length)];
            var input = i % 3 == 0 ? of : i % 3 == 1 ? mutator.Changed(of) : mutator.OfChance((byte)random.Next(3), of[1]);
            Answer(input, i);
            now += TimeSpan.FromTicks(random.Next((int)(2 * silence.Ticks)));
            assembler.Add(input, now);
            fed += input.Length;
            while (assembler.TryTake(now, out var frame))
            {
                taken += frame.Length;
                Assert.True(SlowCrc.Fits(frame), $"Seed {seed}, input {i}.");
                Answer(frame, i);
            }
        }

        now += silence;
        while (assembler.TryTake(now, out var frame))
        {
            taken += frame.Length;
        }

        output.WriteLine($"seed {seed}: {Inputs} inputs, {fed} bytes, {taken} in frames, {assembler.DiscardedBytes} thrown away, {answered} answers");
        Assert.Equal(fed, taken + assembler.DiscardedBytes);
        Assert.True(answered > Inputs / 4 && assembler.DiscardedBytes > fed / 10, "The test looks at one kind only.");

        void Answer(ReadOnlySpan<byte> request, int i)
        {
            var length = slave.Answer(request, reply);
            if (length == 0)
            {
                return;
            }

            answered++;
            if (length < 5 || !SlowCrc.Fits(reply.AsSpan(0, length)) || reply[0] != request[0] || (reply[1] & 0x7F) != request[1] || !SlowCrc.Fits(request))
            {
                Assert.Fail($"Seed {seed}, input {i}: {Convert.ToHexString(request)} is answered by {Convert.ToHexString(reply.AsSpan(0, length))}.");
            }
        }
    }

    /// <summary>Whatever stands behind the input in memory, the answer is the same.</summary>
    private static void CheckBehind(ReadOnlySpan<byte> input, in ReplyShape shape, in Decoded decoded, byte[] buffer, Random random, int seed, int i)
    {
        random.NextBytes(buffer.AsSpan(input.Length, 16));
        input.CopyTo(buffer);
        if (RtuDecoder.Reply(buffer.AsSpan(0, input.Length), shape) != decoded)
        {
            Assert.Fail($"Seed {seed}, input {i}: what stands behind {Convert.ToHexString(input)} is looked at.");
        }
    }

    private void Report(int seed, int[] seen)
    {
        output.WriteLine($"seed {seed}: {Inputs} inputs, {seen[0]} incomplete, {seen[1]} frames, {seen[2]} invalid");
        Assert.All(seen, count => Assert.True(count > Inputs / 50, "The test looks at one kind only."));
    }
}
