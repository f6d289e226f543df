using Supervisor.Daemon.Services;

namespace Supervisor.Daemon.Tests.Services;

public sealed class PageTokenTests
{
    [Theory]
    [InlineData(1)]
    [InlineData(12_345_678_901)]
    [InlineData(long.MaxValue)]
    public void TryRead_OfWritten_GivesTheSamePlace(long before)
    {
        Assert.True(PageToken.TryRead(PageToken.Write(before, "dibber"), "dibber", out var read));
        Assert.Equal(before, read);
    }

    [Fact]
    public void TryRead_OtherArguments_IsRefused() => Assert.False(PageToken.TryRead(PageToken.Write(5, "dibber"), "gantry", out _));

    [Theory]
    [InlineData("x")]
    [InlineData("not a token at all!")]
    [InlineData("AQAAAAAAAAAFAAAAAAAAAAA")]
    [InlineData("=====")]
    [InlineData("ÄÖ")]
    public void TryRead_NoToken_IsRefusedWithoutThrowing(string text) => Assert.False(PageToken.TryRead(text, "dibber", out _));

    [Fact]
    public void TryRead_CutOrLonger_IsRefused()
    {
        var token = PageToken.Write(5, "dibber");

        Assert.False(PageToken.TryRead(token[..^2], "dibber", out _));
        Assert.False(PageToken.TryRead(token + "AA", "dibber", out _));
    }
}
