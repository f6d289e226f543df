using System.Text;
using Supervisor.Records.Faults;

namespace Supervisor.Records.Tests.Faults;

public sealed class ShortTextTests
{
    [Theory]
    [InlineData("", "")]
    [InlineData("TS-4", "TS-4")]
    [InlineData("12345678", "12345678")]
    [InlineData("123456789", "123456789")]
    [InlineData("TS\0-4", "TS")]
    [InlineData("a\nb\tc\u007f", "a?b?c?")]
    [InlineData("Ähre", "??hre")]
    public void ToString_BytesAsTheyCame_ArePrintable(string told, string expected) => Assert.Equal(expected, new ShortText(Encoding.UTF8.GetBytes(told)).ToString());

    [Fact]
    public void ToString_EveryLength_IsTheTextOrItsBeginning()
    {
        var letters = string.Concat(Enumerable.Range(0, 100).Select(i => (char)('a' + (i % 26))));
        for (var length = 0; length <= letters.Length; length++)
        {
            Assert.Equal(letters[..Math.Min(length, ShortText.Most)], new ShortText(Encoding.ASCII.GetBytes(letters[..length])).ToString());
        }
    }

    [Fact]
    public void Equals_ByContents()
    {
        Assert.Equal(new ShortText("TS-4"u8), new ShortText("TS-4"u8));
        Assert.NotEqual(new ShortText("a name that is long enough for all of its parts"u8), new ShortText("a name that is long enough for all of its partz"u8));
        Assert.Equal(default, new ShortText([]));
    }
}
