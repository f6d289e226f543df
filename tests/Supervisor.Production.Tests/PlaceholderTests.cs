namespace Supervisor.Production.Tests;

public sealed class PlaceholderTests
{
    [Fact]
    public void Placeholder_ToBeReplaced() => Assert.True(true);
}
