using Supervisor.History.Recordings.Coding;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Records.Tracing;

namespace Supervisor.History.Tests.Recordings;

/// <summary>Samples to bytes and back: to the last bit, whatever they are; damaged bytes end in an error that says so.</summary>
public sealed class ChunkCodecTests
{
    private readonly ChunkCodec _codec = new();

    [Theory]
    [InlineData(1, 1000)]
    [InlineData(2, 1000)]
    [InlineData(512, 1000)]
    [InlineData(300, 0)]
    [InlineData(300, 277.77777)]
    public void Read_WhatWasWritten_IsTheSame(int count, double countsPerUnit)
    {
        var samples = Enumerable.Range(0, count).Select(i => TraceRig.Sample((uint)i + 7, 0, TimeSpan.FromMicroseconds((i * 10_000) + (i % 13)))).ToArray();

        Assert.Equal(samples, _codec.Read(_codec.Write(samples, countsPerUnit)));
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    public void Read_AnyValues_AreTheSame(int seed)
    {
        var random = new Random(seed);
        var samples = Enumerable.Range(0, 400).Select(_ => new TraceSample
        {
            At = TimeSpan.FromTicks(random.NextInt64(0, 1L << 50) / 10 * 10),
            Cycle = (uint)random.NextInt64(0, 1L << 32),
            Fault = (FaultCode)random.Next(0, 65536),
            State = (AxisState)random.Next(0, 256),
            Detail = (AxisDetail)random.Next(0, 256),
            Flags = (TraceFlags)random.Next(0, 256),
            Result = (ExchangeResult)random.Next(0, 256),
            Misses = (byte)random.Next(0, 256),
            ReplyTime = (ushort)random.Next(0, 65536),
            Inputs = (uint)random.NextInt64(0, 1L << 32),
            CommandedPosition = Any(random),
            Position = Any(random),
            Velocity = (float)Any(random),
            Torque = (float)Any(random),
            FollowingError = (float)Any(random),
        }).ToArray();

        Assert.Equal(samples, _codec.Read(_codec.Write(samples, 1000)));
    }

    [Fact]
    public void Read_PositionOfCounts_IsTheSameNumber()
    {
        // What a drive with 1000/3 counts a unit tells, as it is worked out from its counts.
        const double PerUnit = 1000.0 / 3;
        var samples = Enumerable.Range(0, 200).Select(i => TraceRig.Sample((uint)i, 0, TimeSpan.FromMilliseconds(i)) with { Position = (123_456 + (i * i)) / PerUnit }).ToArray();
        var chunk = _codec.Write(samples, PerUnit);

        Assert.Equal(samples, _codec.Read(chunk));
        Assert.True(chunk.Length < 200 * 12, $"{chunk.Length} bytes: not kept as counts");
    }

    [Fact]
    public void Read_HolesAtEveryPlace_StayHoles()
    {
        for (var pattern = 0; pattern < 256; pattern++)
        {
            var samples = Enumerable.Range(0, 8).Select(i => TraceRig.Sample((uint)i, 0, TimeSpan.FromMilliseconds(i)) with
            {
                Position = (pattern >> i & 1) == 0 ? i / 1000.0 : double.NaN,
            }).ToArray();
            Assert.Equal(samples, _codec.Read(_codec.Write(samples, 1000)));
        }
    }

    [Fact]
    public void Read_DamagedAnywhere_IsNoticed()
    {
        var samples = Enumerable.Range(0, 50).Select(i => TraceRig.Sample((uint)i, 0, TimeSpan.FromMilliseconds(i * 10))).ToArray();
        var good = _codec.Write(samples, 1000);
        for (var at = 0; at < good.Length; at++)
        {
            for (var bit = 0; bit < 8; bit++)
            {
                var bytes = good.ToArray();
                bytes[at] ^= (byte)(1 << bit);
                Assert.True(Throws(() => _codec.Read(bytes)) || samples.SequenceEqual(_codec.Read(bytes)), $"bit {bit} of byte {at}");
            }

            var cut = good[..at];
            Assert.True(Throws(() => _codec.Read(cut)) || samples.SequenceEqual(_codec.Read(cut)), $"cut at {at}");
        }
    }

    [Fact]
    public void Read_NewerFormat_IsToldAsSuch()
    {
        var bytes = _codec.Write([TraceRig.Sample(1, 0, TimeSpan.FromSeconds(1))], 1000);
        bytes[0] = 2;

        Assert.Equal("its samples are of format 2; this version reads format 1", Assert.Throws<InvalidDataException>(() => _codec.Read(bytes)).Message);
    }

    private static bool Throws(Action read)
    {
        try
        {
            read();
            return false;
        }
        catch (InvalidDataException)
        {
            return true;
        }
    }

    private static double Any(Random random) => random.Next(0, 6) switch
    {
        0 => double.NaN,
        1 => double.PositiveInfinity,
        2 => random.NextDouble() * 1e300,
        3 => 0,
        _ => random.Next(-100_000, 100_000) / 1000.0,
    };
}
