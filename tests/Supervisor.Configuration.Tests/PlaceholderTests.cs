namespace Supervisor.Configuration.Tests;

public sealed class PlaceholderTests
{
    [Fact]
    public void Placeholder_ToBeReplaced() => Assert.True(true);
}
