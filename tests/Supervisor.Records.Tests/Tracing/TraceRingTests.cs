using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Records.Tracing;

namespace Supervisor.Records.Tests.Tracing;

public sealed class TraceRingTests
{
    [Theory]
    [InlineData(2, 2)]
    [InlineData(3, 4)]
    [InlineData(1000, 1024)]
    public void Capacity_AnyNumber_IsRoundedUp(int asked, int kept) => Assert.Equal(kept, new TraceRing(asked).Capacity);

    [Theory]
    [InlineData(1)]
    [InlineData(-5)]
    [InlineData((1 << 24) + 1)]
    public void Constructor_OutOfRange_Throws(int asked) => Assert.Throws<ArgumentOutOfRangeException>(() => new TraceRing(asked));

    [Fact]
    public void Read_FromNow_GivesWhatIsWrittenLater()
    {
        var ring = new TraceRing(8);
        Write(ring, 0, 3);
        var reader = ring.ReadFromNow();

        Assert.Equal(0, reader.Read(new TraceSample[4], out _));
        Write(ring, 3, 2);

        AssertReads(reader, size: 4, lost: 0, 3, 4);
        AssertReads(reader, size: 4, lost: 0);
    }

    [Fact]
    public void Read_FromOldest_GivesAllThatIsHeld()
    {
        var ring = new TraceRing(4);
        Write(ring, 0, 6);

        AssertReads(ring.ReadFromOldest(), size: 8, lost: 0, 2, 3, 4, 5);
    }

    [Fact]
    public void Read_SmallDestination_GoesOnWhereItStopped()
    {
        var ring = new TraceRing(8);
        var reader = ring.ReadFromOldest();
        Write(ring, 0, 5);

        AssertReads(reader, size: 2, lost: 0, 0, 1);
        AssertReads(reader, size: 2, lost: 0, 2, 3);
        AssertReads(reader, size: 2, lost: 0, 4);
    }

    [Fact]
    public void Read_Overtaken_TellsWhatIsLostAndGoesOn()
    {
        var ring = new TraceRing(4);
        var reader = ring.ReadFromOldest();
        Write(ring, 0, 10);

        // 6 to 9 are held; the oldest of them is left alone because the writer comes to it next.
        AssertReads(reader, size: 8, lost: 7, 7, 8, 9);
        Assert.Equal(7, reader.Lost);
        Write(ring, 10, 1);
        AssertReads(reader, size: 8, lost: 0, 10);
        Assert.Equal(11, reader.Next);
    }

    [Fact]
    public void Read_TwoReaders_HaveTheirOwnPlaces()
    {
        var ring = new TraceRing(4);
        var fast = ring.ReadFromOldest();
        var slow = ring.ReadFromOldest();
        Write(ring, 0, 3);
        AssertReads(fast, size: 8, lost: 0, 0, 1, 2);
        Write(ring, 3, 3);

        AssertReads(fast, size: 8, lost: 0, 3, 4, 5);
        AssertReads(slow, size: 8, lost: 3, 3, 4, 5);
    }

    [Fact]
    public void WriteAndRead_SteadyState_AllocateNothing()
    {
        var ring = new TraceRing(64);
        var reader = ring.ReadFromOldest();
        var buffer = new TraceSample[16];
        WriteAndRead(ring, reader, buffer, 100);

        var before = GC.GetAllocatedBytesForCurrentThread();
        WriteAndRead(ring, reader, buffer, 1_000);
        Assert.Equal(0, GC.GetAllocatedBytesForCurrentThread() - before);
        Assert.Equal(1_100, reader.Next);
    }

    [Fact]
    public async Task Read_WhileAnotherThreadWrites_NeverSeesATornSample()
    {
        const int Samples = 1_000_000;
        var ring = new TraceRing(4);
        var readers = Enumerable.Range(0, 2).Select(_ => ring.ReadFromOldest()).ToArray();
        var reading = readers.Select(reader => Task.Factory.StartNew(
            () => ReadAll(reader, Samples), TestContext.Current.CancellationToken, TaskCreationOptions.LongRunning, TaskScheduler.Default)).ToArray();
        var writer = new Thread(() => Write(ring, 0, Samples)) { Name = "trace writer" };
        writer.Start();

        foreach (var (seen, lost) in await Task.WhenAll(reading))
        {
            Assert.True(seen > 0);
            Assert.Equal(Samples, seen + lost);
        }

        writer.Join();
    }

    private static (long Seen, long Lost) ReadAll(TraceReader reader, long samples)
    {
        var buffer = new TraceSample[3];
        long seen = 0, last = -1;
        while (reader.Next < samples)
        {
            var count = reader.Read(buffer, out _);
            for (var i = 0; i < count; i++)
            {
                var number = buffer[i].At.Ticks;
                Assert.Equal(Sample(number), buffer[i]);
                Assert.True(number > last);
                last = number;
            }

            seen += count;
        }

        return (seen, reader.Lost);
    }

    private static void WriteAndRead(TraceRing ring, TraceReader reader, TraceSample[] buffer, int count)
    {
        for (var i = 0; i < count; i++)
        {
            ring.Write(Sample(i));
            reader.Read(buffer, out _);
        }
    }

    private static void Write(TraceRing ring, long from, int count)
    {
        for (var i = 0; i < count; i++)
        {
            ring.Write(Sample(from + i));
        }
    }

    private static void AssertReads(TraceReader reader, int size, long lost, params long[] numbers)
    {
        var buffer = new TraceSample[size];
        var count = reader.Read(buffer, out var told);

        Assert.Equal(numbers, buffer.Take(count).Select(sample => sample.At.Ticks));
        Assert.Equal(lost, told);
    }

    // Every field follows from one number, so that a mixture of two samples is seen.
    private static TraceSample Sample(long number) => new()
    {
        At = new TimeSpan(number),
        Axis = (short)number,
        State = (AxisState)(number % 5),
        Detail = (AxisDetail)(number % 8),
        Result = number % 2 == 0 ? ExchangeResult.Good : ExchangeResult.NoReply,
        Fault = (FaultCode)(ushort)(number * 3),
        CommandedPosition = number * 0.5,
        Position = number * 0.25,
        Velocity = -number,
        Torque = number * 7,
        FollowingError = number * 3,
        Inputs = (uint)number,
        Cycle = (uint)number,
        ReplyTime = (ushort)number,
        Flags = (TraceFlags)(number % 16),
        Misses = (byte)number,
    };
}
