using System.Buffers.Binary;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Noise;

/// <summary>
/// A master and a slave through bit errors: no wrong value is taken that the CRC could have caught, no write is done twice, and once the line is
/// clean the next exchange is good. Seeds are in the tests' names; the counts are printed with <c>-diagnostics</c>.
/// </summary>
public sealed class NoiseTests(ITestOutputHelper output)
{
    // A million frames in a build, ten million with SUPERVISOR_LONG=1: four rates, two frames an exchange.
    private static readonly int Exchanges = Amount.Of(150_000, 1_500_000);
    private static readonly LineSettings Line = new(1_000_000, LineParity.None, 1, GapRule.Proportional, TimeSpan.Zero);

    [Theory]
    [InlineData(1e-5, 11)]
    [InlineData(1e-4, 12)]
    [InlineData(1e-3, 13)]
    [InlineData(1e-2, 14)]
    public void Run_BitErrors_TakesNoWrongValueThatTheCrcCouldCatchAndWritesNothingTwice(double rate, int seed)
    {
        var bench = new NoiseBench(Line, rate, seed);

        for (var i = 0; i < Exchanges; i++)
        {
            bench.Exchange();
        }

        output.WriteLine(
            $"rate {rate:0e+0}, seed {seed}: {bench.Wire.Frames} frames, {bench.Errors.Turned} bits turned, {bench.Good} good, {bench.Bad} bad exchanges, "
            + $"{bench.PassedCrc} passed their CRC damaged, {bench.ExpectedToPass:0.000} expected, at most {bench.MostCalls} steps");
        Assert.True(bench.Errors.Turned > 0 && bench.Good > Exchanges / 20, "Nothing was disturbed, or everything.");
        Assert.Equal(0, bench.WrongThoughCaught);
        Assert.Equal(0, bench.DoneTwice);
        Assert.Equal(0, bench.AcknowledgedNotDone);
        // Lost characters and lost requests only lower it; by chance it is above this bound once in millions of runs.
        var bound = bench.ExpectedToPass + (6 * Math.Sqrt(bench.ExpectedToPass)) + 3;
        Assert.True(bench.PassedCrc <= bound, $"{bench.PassedCrc} damaged frames passed, {bench.ExpectedToPass} are to be expected.");
    }

    [Theory]
    [InlineData(1e-3, 21)]
    [InlineData(1e-2, 22)]
    [InlineData(0.1, 23)]
    [InlineData(0.5, 24)]
    public void Run_LineThatBecomesClean_IsGoodWithTheNextExchange(double rate, int seed)
    {
        var bench = new NoiseBench(Line, rate, seed);
        var random = new Random(seed);
        for (var round = 0; round < Amount.Of(5_000, 50_000); round++)
        {
            bench.Errors.Rate = rate;
            for (var noisy = random.Next(1, 6); noisy > 0; noisy--)
            {
                bench.Exchange();
            }

            bench.Errors.Rate = 0;
            Assert.True(bench.Exchange() == TransactionResult.Reply, $"Seed {seed}, round {round}: {bench.Last} on a clean line.");
        }

        output.WriteLine($"rate {rate}, seed {seed}: {bench.Bad} bad exchanges, at most {bench.MostCalls} steps in one");
        Assert.True(bench.Bad > 100, "Nothing was disturbed.");
        // A look for silence, the request, the answer, the silence behind it; each may be cut in two.
        Assert.InRange(bench.MostCalls, 3, 8);
    }

    [Fact]
    public void Decoder_BodiesOfChance_PassAsOftenAsTheoryHasIt()
    {
        // Every pattern of a body and CRC is as likely as any other: one in 2^16 fits.
        var count = Amount.Of(2_000_000, 10_000_000);
        ulong state = 31;
        var shape = ReplyShape.OfRead(1, FunctionCode.ReadHoldingRegisters, 8);
        var frame = new byte[3 * sizeof(ulong)];
        var passed = 0;
        for (var i = 0; i < count; i++)
        {
            // SplitMix64 (Steele, Lea, Flood, OOPSLA 2014; constants from memory): the generator of Random with a seed is known to be uneven.
            for (var at = 0; at < frame.Length; at += sizeof(ulong))
            {
                state += 0x9E3779B97F4A7C15;
                var mixed = (state ^ (state >> 30)) * 0xBF58476D1CE4E5B9;
                mixed = (mixed ^ (mixed >> 27)) * 0x94D049BB133111EB;
                BinaryPrimitives.WriteUInt64LittleEndian(frame.AsSpan(at), mixed ^ (mixed >> 31));
            }

            (frame[0], frame[1], frame[2]) = (1, FunctionCode.ReadHoldingRegisters, 16);
            if (RtuDecoder.Reply(frame.AsSpan(0, shape.Length), shape).State == DecodeState.Frame)
            {
                passed++;
                Assert.True(SlowCrc.Fits(frame.AsSpan(0, shape.Length)));
            }
        }

        var expected = count / 65536.0;
        output.WriteLine($"{passed} of {count} passed, {expected:0.0} expected");
        Assert.InRange(passed, expected - (6 * Math.Sqrt(expected)), expected + (6 * Math.Sqrt(expected)));
    }

    [Theory]
    [InlineData(8)]
    [InlineData(32)]
    public void Theory_PatternsOfAFrame_AreThoseThatPass(int bytes)
    {
        var patterns = CrcTheory.PassingPatterns(8 * bytes);

        // All patterns of up to three bits are found (Hamming distance 4, check values of this project).
        Assert.Equal([1, 0, 0, 0], patterns[..4].Select(each => (int)each));
        // Counted one by one with the CRC as the appendix has it: of 635376 patterns of four bits in 8 bytes 364 pass.
        Assert.Equal(CountFours(bytes), (int)patterns[4]);
        Assert.Equal(System.Numerics.BigInteger.One << ((8 * bytes) - 16), patterns.Aggregate((sum, each) => sum + each));
    }

    private static int CountFours(int bytes)
    {
        // The CRC is affine: what a bit does to it is the difference to a frame without it.
        var columns = Enumerable.Range(0, 8 * bytes).Select(bit =>
        {
            var frame = new byte[bytes];
            frame[bit / 8] = (byte)(1 << (bit % 8));
            return SlowCrc.Of(frame) ^ SlowCrc.Of(new byte[bytes]);
        }).ToArray();
        // Two pairs of four different bits with the same sum: each four is found by three of its pairs.
        var pairs = new Dictionary<int, int>();
        for (var a = 0; a < columns.Length; a++)
        {
            for (var b = a + 1; b < columns.Length; b++)
            {
                pairs[columns[a] ^ columns[b]] = pairs.GetValueOrDefault(columns[a] ^ columns[b]) + 1;
            }
        }

        return pairs.Values.Sum(each => each * (each - 1) / 2) / 3;
    }
}
