using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

public sealed class RequestAssemblerTests
{
    private static readonly TimeSpan Silence = TimeSpan.FromMilliseconds(2);
    private static readonly TimeSpan Start = TimeSpan.FromSeconds(3);
    private readonly RequestAssembler _assembler = new(Silence);

    public static TheoryData<string> Requests => [.. GoldenFrames.Requests, .. GoldenFrames.OtherRequests, GoldenFrames.ReadCoilsRequest];

    [Theory]
    [MemberData(nameof(Requests))]
    public void TryTake_FrameSplitAnywhere_HandsItOutWithTheLastByte(string request)
    {
        var frame = Hex.Bytes(request);
        for (var split = 0; split <= frame.Length; split++)
        {
            var assembler = new RequestAssembler(Silence);
            assembler.Add(frame.AsSpan(0, split), Start);
            Assert.Equal(split == frame.Length, assembler.TryTake(Start, out _));
            if (split < frame.Length)
            {
                assembler.Add(frame.AsSpan(split), Start + (Silence / 2));
                Assert.True(assembler.TryTake(Start + (Silence / 2), out var taken));
                Assert.Equal(frame, taken.ToArray());
            }

            Assert.False(assembler.TryTake(Start + (Silence / 2), out _));
            Assert.Equal(0, assembler.DiscardedBytes);
            Assert.Null(assembler.SilentAt);
        }
    }

    [Fact]
    public void TryTake_TwoFramesInOnePiece_HandsOutBoth()
    {
        _assembler.Add([.. Hex.Bytes(GoldenFrames.WriteSingle), .. Hex.Bytes(GoldenFrames.ReadHoldingRequest)], Start);

        Assert.Equal([GoldenFrames.WriteSingle, GoldenFrames.ReadHoldingRequest], TakeAll(Start));
    }

    [Fact]
    public void TryTake_BadCrc_ThrowsAllAwayUntilSilence()
    {
        var bad = Hex.Bytes(GoldenFrames.WriteSingle);
        bad[5] ^= 1;
        // What follows without a silence belongs to the same broken frame, even when it looks like a request.
        _assembler.Add([.. bad, .. Hex.Bytes(GoldenFrames.WriteSingle)], Start);
        Assert.Empty(TakeAll(Start));
        _assembler.Add(Hex.Bytes(GoldenFrames.WriteSingle), Start + (Silence / 2));
        Assert.Empty(TakeAll(Start + (Silence / 2)));

        var later = Start + (Silence / 2) + Silence;
        _assembler.Add(Hex.Bytes(GoldenFrames.ReadHoldingRequest), later);

        Assert.Equal([GoldenFrames.ReadHoldingRequest], TakeAll(later));
        Assert.Equal(24, _assembler.DiscardedBytes);
    }

    [Fact]
    public void TryTake_CutFrameThenSilence_ForgetsIt()
    {
        _assembler.Add(Hex.Bytes(GoldenFrames.WriteMultipleRequest).AsSpan(0, 9), Start);
        Assert.Empty(TakeAll(Start));
        Assert.Equal(Start + Silence, _assembler.SilentAt);

        Assert.Empty(TakeAll(Start + Silence));
        Assert.Null(_assembler.SilentAt);
        _assembler.Add(Hex.Bytes(GoldenFrames.WriteSingle), Start + Silence);

        Assert.Equal([GoldenFrames.WriteSingle], TakeAll(Start + Silence));
    }

    [Fact]
    public void Add_AfterASilenceNobodyLookedAt_StartsANewFrame()
    {
        _assembler.Add(Hex.Bytes(GoldenFrames.WriteMultipleRequest).AsSpan(0, 9), Start);
        Assert.Empty(TakeAll(Start));

        _assembler.Add(Hex.Bytes(GoldenFrames.WriteSingle), Start + Silence);

        Assert.Equal([GoldenFrames.WriteSingle], TakeAll(Start + Silence));
    }

    [Fact]
    public void TryTake_FunctionOfUnknownLength_EndsWithSilence()
    {
        // 64h is one of those that makers may use as they like (MODBUS Application Protocol V1.1b3, section 5).
        var own = Hex.WithCrc("01 64 0E 01 00");
        _assembler.Add(own, Start);
        Assert.Empty(TakeAll(Start));

        Assert.Equal([BitConverter.ToString(own).Replace('-', ' ')], TakeAll(Start + Silence));
    }

    [Fact]
    public void Add_EndlessNoise_HoldsNoMoreThanItsBuffer()
    {
        var noise = Enumerable.Repeat((byte)0x55, 1000).ToArray();
        for (var i = 0; i < 100; i++)
        {
            _assembler.Add(noise, Start);
            Assert.Empty(TakeAll(Start));
        }

        Assert.Equal(100_000, _assembler.DiscardedBytes);
        _assembler.Add(Hex.Bytes(GoldenFrames.WriteSingle), Start + Silence);
        Assert.Equal([GoldenFrames.WriteSingle], TakeAll(Start + Silence));
    }

    private List<string> TakeAll(TimeSpan now)
    {
        var frames = new List<string>();
        while (_assembler.TryTake(now, out var frame))
        {
            frames.Add(BitConverter.ToString(frame.ToArray()).Replace('-', ' '));
        }

        return frames;
    }
}
