using Supervisor.Bus.Links;

namespace Supervisor.Bus.Tests.Links;

/// <summary>Times on the wire, computed from MODBUS over Serial Line V1.02, 2.5.1: 11 bits a character.</summary>
public sealed class LineSettingsTests
{
    private static LineSettings Even(int baud, GapRule gap = GapRule.Standard) => new(baud, LineParity.Even, 1, gap, TimeSpan.FromMicroseconds(300));

    [Theory]
    [InlineData(LineParity.Even, 1, 11)]
    [InlineData(LineParity.Odd, 1, 11)]
    [InlineData(LineParity.None, 2, 11)]
    [InlineData(LineParity.None, 1, 10)]
    public void BitsPerCharacter_ByParityAndStopBits(LineParity parity, int stopBits, int bits) =>
        Assert.Equal(bits, new LineSettings(9600, parity, stopBits, GapRule.Standard, TimeSpan.Zero).BitsPerCharacter);

    [Theory]
    [InlineData(9600, 1.145833, 1.71875, 4.010417)]
    [InlineData(19200, 0.572917, 0.859375, 2.005208)]
    public void CharacterTime_TableOfTimes_IsMatched(int baud, double oneMs, double oneAndAHalfMs, double threeAndAHalfMs)
    {
        AssertMs(oneMs, Even(baud).CharacterTime(1));
        AssertMs(oneAndAHalfMs, Even(baud).CharacterTime(1.5));
        AssertMs(threeAndAHalfMs, Even(baud).CharacterTime(3.5));
        AssertMs(threeAndAHalfMs, Even(baud).FrameGap);
    }

    [Theory]
    [InlineData(9600, 293.333333)]
    [InlineData(19200, 146.666667)]
    [InlineData(115200, 24.444444)]
    public void CharacterTime_LongestFrame_IsTheComputedTime(int baud, double ms) => AssertMs(ms, Even(baud).CharacterTime(256));

    [Theory]
    [InlineData(19201)]
    [InlineData(38400)]
    [InlineData(115200)]
    [InlineData(1000000)]
    public void FrameGap_StandardAbove19200_IsFixed(int baud) => AssertMs(1.750, Even(baud).FrameGap);

    [Fact]
    public void FrameGap_ProportionalOrFixed_IsWhatItSays()
    {
        AssertMs(0.0385, Even(1_000_000, GapRule.Proportional).FrameGap);
        AssertMs(0.300, Even(1_000_000, GapRule.Fixed).FrameGap);
    }

    private static void AssertMs(double expectedMs, TimeSpan actual) => Assert.Equal(expectedMs, actual.TotalMilliseconds, 0.0002);
}
