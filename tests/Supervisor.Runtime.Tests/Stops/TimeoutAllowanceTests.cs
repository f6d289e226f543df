using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Stops;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Stops;

/// <summary>
/// Ways and times of a proof against figures worked out by hand: uniform motion over the time-out, then uniform deceleration, s = v·t + v²/2a (any
/// handbook of mechanics); with a limit of jerk the mean speed over v/a + a/j (Biagiotti and Melchiorri, 3.4).
/// </summary>
public sealed class TimeoutAllowanceTests
{
    private static readonly AxisDefinition Axis = Parts.Axis() with
    {
        Limits = Parts.Axis().Limits with { Acceleration = 1000, Deceleration = 1000, Jerk = null },
        CommunicationTimeout = TimeSpan.FromMilliseconds(300),
        InPosition = Parts.Axis().InPosition with { Window = 0.1 },
        FollowingError = null,
        Drive = Parts.Words() with { CommunicationTimeout = new CommunicationTimeoutDefinition(TimeoutFeed.AnyFrame, TimeoutReaction.QuickStopThenOff), Parameters = [] },
    };

    [Theory]
    [InlineData(300, 0, 350)] // a tenth is less than 50 ms
    [InlineData(2000, 0, 2200)]
    [InlineData(300, 100, 450)] // and one step of a register that counts tenths of a second
    public void LongestUntilActing_IsTheTimeoutItsToleranceAndAStep(double timeoutMs, double stepMs, double expectedMs)
    {
        var field = new RegisterField("communicationTimeout", 9, RegisterType.U16, stepMs, "ms", RegisterAccess.ReadWrite);
        var axis = Axis with { CommunicationTimeout = TimeSpan.FromMilliseconds(timeoutMs), Drive = Axis.Drive with { Parameters = stepMs > 0 ? [field] : [] } };
        Assert.Equal(expectedMs, TimeoutAllowance.LongestUntilActing(axis).TotalMilliseconds, 1e-6);
        var inSeconds = axis with { Drive = axis.Drive with { Parameters = stepMs > 0 ? [field with { Scale = stepMs / 1000, Unit = "s" }] : [] } };
        Assert.Equal(expectedMs, TimeoutAllowance.LongestUntilActing(inSeconds).TotalMilliseconds, 1e-6);
    }

    [Fact]
    public void Distance_IsTheWayOverTheTimeoutAndTheRamp()
    {
        // 100 mm/s: 35 mm in 350 ms; the ramp from 115 mm/s is 115²/2000 = 6.6125 mm; a window of 0.1 mm counts tenfold at standstill.
        Assert.Equal(35 + 6.6125 + 1, TimeoutAllowance.Distance(Axis, -100), 1e-9);

        // 10,000 mm/s³: the mean speed 57.5 mm/s over 0.115 s and 0.1 s.
        var jerked = Axis with { Limits = Axis.Limits with { Jerk = 10_000 } };
        Assert.Equal(35 + 12.3625 + 1, TimeoutAllowance.Distance(jerked, 100), 1e-9);
        Assert.Equal(1, TimeoutAllowance.Distance(Axis, 0), 1e-9);
    }

    [Fact]
    public void Distance_OfADriveThatOnlyLetsGo_HasNoEnd()
    {
        var axis = Axis with { Drive = Axis.Drive with { CommunicationTimeout = new CommunicationTimeoutDefinition(TimeoutFeed.AnyFrame, TimeoutReaction.TorqueOff) } };
        Assert.Equal(double.PositiveInfinity, TimeoutAllowance.Distance(axis, 100));
        Assert.Equal(1, TimeoutAllowance.Distance(axis, 0), 1e-9);
    }

    [Theory]
    [InlineData(10)]
    [InlineData(100)]
    [InlineData(1000)]
    public void WayNeeded_HoldsTheWayToSpeedTheSilenceAndWhatIsAllowed(double velocity)
    {
        // Else a drive that does nothing could be at its target by the time it is asked again, and look as one that has stopped.
        var toSpeed = velocity * velocity / 2000;
        Assert.True(TimeoutAllowance.WayNeeded(Axis, Parts.Port, velocity) > toSpeed + TimeoutAllowance.Distance(Axis, velocity) + (velocity * Parts.Port.Cycle.TotalSeconds));
    }

    [Fact]
    public void SpeedLeft_FollowsTheRampFromTheLatestBeginning()
    {
        // Nothing is asked of it up to 350 ms and the tolerance of a look; 30 ms later 115 - 30 mm/s may be left, and none in the end.
        Assert.Equal(double.PositiveInfinity, TimeoutAllowance.SpeedLeft(Axis, 100, TimeSpan.FromMilliseconds(400)));
        Assert.Equal(85, TimeoutAllowance.SpeedLeft(Axis, 100, TimeSpan.FromMilliseconds(430)), 1e-9);
        Assert.Equal(0, TimeoutAllowance.SpeedLeft(Axis, 100, TimeSpan.FromSeconds(2)), 1e-9);
    }
}
