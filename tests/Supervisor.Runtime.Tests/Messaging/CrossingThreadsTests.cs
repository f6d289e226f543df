using System.Runtime.InteropServices;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Tests.Messaging;

/// <summary>What crosses threads, with real threads on both ends.</summary>
public sealed class CrossingThreadsTests
{
    private const int Values = 200_000;

    [Fact]
    public void Ring_FullAndEmpty_SaysSo()
    {
        var ring = new SpscRing<int>(4);
        Assert.False(ring.TryRead(out _));
        for (var i = 0; i < 4; i++)
        {
            Assert.Equal(4 - i, ring.Free);
            Assert.True(ring.TryWrite(i));
        }

        Assert.False(ring.TryWrite(99));
        Assert.Equal(0, ring.Free);
        for (var i = 0; i < 4; i++)
        {
            Assert.True(ring.TryRead(out var value));
            Assert.Equal(i, value);
        }

        Assert.False(ring.TryRead(out _));
        Assert.True(ring.TryWrite(5));
    }

    [Theory]
    [InlineData(0)]
    [InlineData(3)]
    [InlineData(100)]
    public void Ring_WhoseCapacityIsNoPowerOfTwo_IsRefused(int capacity) =>
        Assert.ThrowsAny<ArgumentException>(() => new SpscRing<int>(capacity));

    [Fact]
    public void Ring_BetweenTwoThreads_KeepsOrderAndEveryValue()
    {
        var ring = new SpscRing<Pair>(64);
        var writer = new Thread(() =>
        {
            var spin = default(SpinWait);
            for (long i = 0; i < Values;)
            {
                if (ring.TryWrite(new Pair(i, ~i, i * 3)))
                {
                    i++;
                }
                else
                {
                    spin.SpinOnce();
                }
            }
        });
        writer.Start();
        var wait = default(SpinWait);
        for (long expected = 0; expected < Values;)
        {
            if (ring.TryRead(out var pair))
            {
                Assert.Equal(new Pair(expected, ~expected, expected * 3), pair);
                expected++;
            }
            else
            {
                wait.SpinOnce();
            }
        }

        writer.Join();
        Assert.False(ring.TryRead(out _));
    }

    [Fact]
    public void Cell_ReadWhileItIsWritten_IsNeverTorn()
    {
        var cell = new SnapshotCell<Pair>();
        var enough = false;
        cell.Write(new Pair(0, ~0L, 0));
        var writer = new Thread(() =>
        {
            for (long i = 1; !Volatile.Read(ref enough); i++)
            {
                cell.Write(new Pair(i, ~i, i * 3));

                // Writers of the supervisor rest between two values: one that never did would leave a reader no moment at all.
                Thread.SpinWait(50);
            }
        });
        writer.Start();
        var distinct = 0;
        var last = -1L;
        var isWhole = true;
        for (var reads = 0L; distinct < 1000 && reads < 500_000_000 && isWhole; reads++)
        {
            var seen = cell.Read();
            isWhole = seen.B == ~seen.A && seen.C == seen.A * 3 && seen.A >= last;
            distinct += seen.A != last ? 1 : 0;
            last = seen.A;
        }

        Volatile.Write(ref enough, true);
        writer.Join();
        Assert.True(isWhole, "a torn or older value was read");
        Assert.True(distinct >= 1000, $"the reader saw the writer at work {distinct} times only");
    }

    /// <summary>More than a processor moves at once, so that a torn copy shows.</summary>
    [StructLayout(LayoutKind.Sequential)]
    private readonly record struct Pair(long A, long B, long C);
}
