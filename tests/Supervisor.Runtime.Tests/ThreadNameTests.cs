using System.Text;

namespace Supervisor.Runtime.Tests;

public sealed class ThreadNameTests
{
    [Theory]
    [InlineData("line-a", "port line-a")]
    [InlineData("ten-chars1", "port ten-chars1")]
    [InlineData("conveyor-1", "port conveyor-1")]
    [InlineData("conveyor-11", "port conve~r-11")]
    [InlineData("conveyor-left-2", "port conve~ft-2")]
    [InlineData("Förderer", "port F?rderer")]
    [InlineData("", "port ")]
    public void Of_AnyName_FitsAndKeepsBothEnds(string name, string expected)
    {
        var made = ThreadName.Of("port", name);
        Assert.Equal(expected, made);
        Assert.InRange(Encoding.UTF8.GetByteCount(made), 0, 15);
    }
}
