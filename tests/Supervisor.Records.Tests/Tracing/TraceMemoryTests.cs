using Supervisor.Records.Tracing;

namespace Supervisor.Records.Tests.Tracing;

public sealed class TraceMemoryTests
{
    [Fact]
    public void BytesPerSample_WithItsNumber_IsOneCacheLine() => Assert.Equal(64, TraceMemory.BytesPerSample);

    [Theory]
    [InlineData(4, 40, 10)]
    [InlineData(16, 20, 10)]
    [InlineData(16, 20, 60)]
    [InlineData(1, 5, 1)]
    public void Samples_OfAPort_HoldTheTimeBeforeAndTheReserve(int axes, int cycleMs, int before)
    {
        var cycle = TimeSpan.FromMilliseconds(cycleMs);
        var samples = TraceMemory.Samples(axes, cycle, TimeSpan.FromSeconds(before));

        Assert.True(samples * cycle / axes >= TimeSpan.FromSeconds(before) + TraceMemory.Reserve, $"{samples} samples");
        Assert.Equal(samples, new TraceRing(samples).Capacity);
    }

    [Fact]
    public void Bytes_SixtyFourAxesOnFourPorts_AreFourMegabytesAtTheDefaults()
    {
        // 15 s / 20 ms · 16 axes · 1.25 = 15,000 samples, rounded up to 16,384, 64 bytes each, four times.
        var port = TraceMemory.Samples(16, TimeSpan.FromMilliseconds(20), TimeSpan.FromSeconds(10));
        Assert.Equal(4L * 1024 * 1024, 4 * TraceMemory.Bytes(port));
    }

    [Fact]
    public void Samples_PortWithoutAxes_IsSmall() => Assert.Equal(256, TraceMemory.Samples(0, TimeSpan.FromMilliseconds(20), TimeSpan.FromSeconds(60)));
}
