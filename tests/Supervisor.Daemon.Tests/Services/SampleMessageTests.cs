using Supervisor.Daemon.Services;
using Supervisor.Records.Tracing;

namespace Supervisor.Daemon.Tests.Services;

public sealed class SampleMessageTests
{
    [Fact]
    public void Fill_AMessageUsedBefore_HoldsNothingOfTheLastSample()
    {
        var message = new Supervisor.Api.V1.TraceSample();
        TraceMapping.Fill(message, new TraceSample { At = TimeSpan.FromSeconds(1), Cycle = 7, Position = 12.5, FollowingError = 0.5f, Velocity = 3, Misses = 2, Flags = TraceFlags.Online, Fault = Records.Faults.FaultCode.LinkLost }, axis: 3);
        Assert.True(message.HasPosition && message.HasFollowingError);

        var unknown = new TraceSample { At = TimeSpan.FromSeconds(2), Cycle = 8, Position = double.NaN, FollowingError = float.NaN };
        TraceMapping.Fill(message, unknown, axis: 0);

        Assert.Equal(TraceMapping.ToMessage(unknown, 0), message);
        Assert.False(message.HasPosition || message.HasFollowingError);
    }
}
