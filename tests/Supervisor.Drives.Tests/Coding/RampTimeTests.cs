using Supervisor.Configuration.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Drives.Exchange;
using Supervisor.Drives.Tests.Support;

namespace Supervisor.Drives.Tests.Coding;

/// <summary>Ramps that a drive takes as times (common practice of the trade): t = v / a, in steps of the register.</summary>
public sealed class RampTimeTests
{
    // 100,000 counts/s: at 300,000 counts/s² a third of a second, at 250,000 counts/s² 400 ms.
    [Theory]
    [InlineData(300_000, 1, 334, 333)]
    [InlineData(250_000, 1, 400, 400)]
    [InlineData(250_000, 10, 40, 40)]
    [InlineData(300_000, 10, 34, 33)]
    [InlineData(1e9, 1, 1, 1)]
    public void PutMove_RampTime_IsRoundedToTheGentlerStartAndTheSteeperStop(double rate, double stepMs, int start, int stop)
    {
        var (coding, image) = Build(new RampTimesDefinition(100_000), stepMs);
        coding.PutMove(image, 0, 50_000, rate, rate);

        Assert.Equal((start, stop), (image.Wanted[^2], image.Wanted[^1]));
        Assert.True(coding.CommandsAcceleration && coding.CommandsDeceleration);
    }

    [Fact]
    public void PutMove_TimeToTheCommandedVelocity_FollowsIt()
    {
        var (coding, image) = Build(new RampTimesDefinition((double?)null), 1);
        coding.PutMove(image, 0, 50_000, 250_000, 250_000);
        Assert.Equal((200, 200), (image.Wanted[^2], image.Wanted[^1]));

        coding.PutDeceleration(image, 500_000);
        Assert.Equal((200, 100), (image.Wanted[^2], image.Wanted[^1]));
    }

    private static (DriveCoding Coding, CommandImage Image) Build(RampTimesDefinition times, double stepMs)
    {
        var drive = Definitions.Words();
        var coding = DriveCoding.Create(new ExchangePlan(drive with
        {
            RampTimes = times,
            Command =
            [
                .. drive.Command.Where(field => field.Register < 70 && !field.Name.StartsWith("profileA", StringComparison.Ordinal)),
                Definitions.Field("accelerationTime", 90, RegisterType.U16) with { Scale = stepMs },
                Definitions.Field("decelerationTime", 91, RegisterType.U16) with { Scale = stepMs },
            ],
        }));
        return (coding, new CommandImage(coding.Plan, coding.ControlOffset));
    }
}
