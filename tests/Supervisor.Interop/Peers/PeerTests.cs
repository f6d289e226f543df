using Xunit.Sdk;

namespace Supervisor.Interop.Peers;

public sealed class PeerTests
{
    [Fact]
    public void Demand_PeerMissing_SkipsAndFailsWhereItIsRequired()
    {
        Assert.Equal("no peer", Assert.ThrowsAny<Exception>(() => SkipAsFailure("no peer")).Message);
        Assert.Contains("no peer", Assert.Throws<FailException>(() => Peer.Demand("no peer", required: true)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Demand_PeerThere_GoesOn() => Peer.Demand(null, required: true);

    [Fact]
    public void IsOnPath_ProgramThatIsAndIsNot_TellsThemApart()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(), "Looks for a shell.");
        Assert.True(Peer.IsOnPath("sh"));
        Assert.False(Peer.IsOnPath("no-such-program-here"));
    }

    /// <summary>A skip would end this test too, so it is caught here.</summary>
    private static void SkipAsFailure(string missing)
    {
        try
        {
            Peer.Demand(missing, required: false);
        }
        catch (SkipException skip)
        {
            throw new InvalidOperationException(skip.Message.Replace("$XunitDynamicSkip$", "", StringComparison.Ordinal));
        }
    }
}
