namespace Supervisor.Scenarios;

public sealed class PlaceholderTests
{
    [Fact]
    public void Placeholder_ToBeReplaced() => Assert.True(true);
}
