namespace Supervisor.Records.Tests;

public sealed class CountedTests
{
    [Theory]
    [InlineData(0, "error", null, "0 errors")]
    [InlineData(1, "error", null, "1 error")]
    [InlineData(2, "error", null, "2 errors")]
    [InlineData(1, "axis", "axes", "1 axis")]
    [InlineData(4_000, "axis", "axes", "4000 axes")]
    public void Of_Number_TakesItsWord(long count, string one, string? many, string text) => Assert.Equal(text, Counted.Of(count, one, many));
}
