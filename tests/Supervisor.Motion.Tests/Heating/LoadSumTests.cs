using Supervisor.Motion.Heating;

namespace Supervisor.Motion.Tests.Heating;

public sealed class LoadSumTests
{
    /// <summary>√(ΣT²t/Σt) of a cycle of 3 for 0.2 s, 1 for 0.6 s, 2 for 0.2 s, 0 for 0.5 s: computed from the textbook formula.</summary>
    [Theory]
    [InlineData(0)]
    [InlineData(3e7)]
    public void RmsSince_OfACycle_IsTheTextbooksWhateverCameBefore(double secondsBefore)
    {
        var before = new LoadSum().With(80, TimeSpan.FromSeconds(secondsBefore));
        var after = before.With(3, Seconds(0.2)).With(-1, Seconds(0.6)).With(2, Seconds(0.2)).With(0, Seconds(0.5));

        Assert.Equal(1.460593, after.RmsSince(before), 2e-5);
    }

    [Fact]
    public void RmsSince_Nothing_IsNotKnown()
    {
        var sum = new LoadSum().With(3, Seconds(1));

        Assert.True(double.IsNaN(sum.RmsSince(sum)));
    }

    private static TimeSpan Seconds(double seconds) => TimeSpan.FromSeconds(seconds);
}
