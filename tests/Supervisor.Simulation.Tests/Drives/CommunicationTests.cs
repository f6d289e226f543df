using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Tests.Support;

namespace Supervisor.Simulation.Tests.Drives;

public sealed class CommunicationTests
{
    private const double LimitMs = 100;

    [Theory]
    [InlineData(TimeoutFeed.AnyFrame, true, true)]
    [InlineData(TimeoutFeed.Read, true, false)]
    [InlineData(TimeoutFeed.Write, false, true)]
    public void Timeout_OnlyItsFramesFeedIt(TimeoutFeed feed, bool readsFeed, bool writesFeed)
    {
        Assert.Equal(readsFeed, Survives(feed, rig => rig.Get("position")));
        Assert.Equal(writesFeed, Survives(feed, rig => rig.Write("digitalOutputs", 0)));
    }

    [Fact]
    public void Timeout_InMotion_StopsThenTakesTorqueAndTells8130()
    {
        var rig = Moving(TimeoutReaction.QuickStopThenOff);
        rig.Get("position");
        rig.Pass(LimitMs - 5);
        Assert.False(rig.Drive.IsFaulted);
        rig.Pass(10);
        Assert.True(rig.Drive.IsFaulted);
        Assert.True(rig.Drive.Plant.Powered, "the ramp needs torque");
        rig.Pass(300);
        Assert.InRange(Math.Abs(rig.Drive.Plant.Velocity), 0, 0.5);
        Assert.False(rig.Drive.Plant.Powered);
        Assert.Equal(0x8130, rig.Get("errorCode"));
        Assert.Equal(0x08, rig.Statusword & 0x4F);
    }

    [Fact]
    public void Timeout_TorqueOff_CutsInMotion()
    {
        var rig = Moving(TimeoutReaction.TorqueOff);
        rig.Pass(LimitMs + 5);
        Assert.False(rig.Drive.Plant.Powered);
        Assert.True(rig.Drive.Plant.Velocity > 50, "nothing braked it");
        Assert.Equal(0x8130, rig.Drive.ErrorCode);
    }

    [Fact]
    public void Timeout_QuickStopThenHold_HoldsUntilAskedAnew()
    {
        var rig = Moving(TimeoutReaction.QuickStopThenHold);
        rig.Pass(LimitMs + 300);
        Assert.True(rig.Drive.Plant.Powered);
        Assert.InRange(Math.Abs(rig.Drive.Plant.Velocity), 0, 0.5);
        Assert.Equal(0x07, rig.Statusword & 0x6F);
        Assert.Equal(0x8130, rig.Get("errorCode"));
        rig.Set("controlword", 0x0F);
        Assert.Equal(0x27, rig.Statusword & 0x6F);
        double rest = rig.Drive.Plant.Position;
        rig.Pass(50);
        Assert.Equal(rest, rig.Drive.Plant.Position, 0.1);
    }

    [Fact]
    public void Timeout_HangingAxis_ClosesTheBrakeUnderTorque()
    {
        var rig = Moving(TimeoutReaction.QuickStopThenOff, Definitions.Hanging());
        rig.Pass(LimitMs + 5);
        double lowest = 0;
        Assert.True(rig.Until(() => !rig.Drive.Plant.Powered, 1000, () => lowest = rig.Drive.Plant.Position));
        Assert.True(rig.Drive.Plant.BrakeClosed);
        rig.Pass(1000);
        Assert.Equal(lowest, rig.Drive.Plant.Position, 0.05);
    }

    [Fact]
    public void Timeout_SilenceOfTheSimulation_IsNotTheMasters()
    {
        var rig = Moving(TimeoutReaction.QuickStopThenOff);
        rig.Drive.ExcuseSilence(TimeSpan.FromMilliseconds(300));
        rig.Pass(300 + LimitMs - 5);
        Assert.False(rig.Drive.IsFaulted);
        rig.Pass(10);
        Assert.True(rig.Drive.IsFaulted);
    }

    [Fact]
    public void Timeout_TorqueOff_IsNotWatched()
    {
        var rig = new Rig();
        rig.Set("communicationTimeout", LimitMs);
        rig.Pass(5000);
        Assert.False(rig.Drive.IsFaulted);
    }

    [Fact]
    public void Timeout_NeverSet_DoesNothing()
    {
        var rig = new Rig();
        rig.Enable();
        rig.Pass(5000);
        Assert.False(rig.Drive.IsFaulted);
        Assert.True(rig.Drive.Plant.Powered);
    }

    [Fact]
    public void Timeout_WithoutRegister_IsTheAxisOwn()
    {
        var words = Definitions.Words();
        var axis = Definitions.Axis(words with { Parameters = [.. words.Parameters.Where(field => field.Name != "communicationTimeout")] });
        var rig = new Rig(axis);
        rig.Enable();
        rig.Pass(axis.CommunicationTimeout.TotalMilliseconds - 110);
        Assert.False(rig.Drive.IsFaulted);
        rig.Pass(300);
        Assert.True(rig.Drive.IsFaulted);
    }

    [Fact]
    public void Timeout_UnpluggedLine_DrivesStopByThemselves()
    {
        var rig = Moving(TimeoutReaction.QuickStopThenOff);
        rig.Line.IsUnplugged = true;
        Assert.Equal(255, rig.Read(0, 1));
        rig.Pass(LimitMs + 300);
        Assert.False(rig.Drive.Plant.Powered);
        Assert.InRange(Math.Abs(rig.Drive.Plant.Velocity), 0, 0.5);
        rig.Line.IsUnplugged = false;
        Assert.Equal(0x8130, rig.Get("errorCode"));
    }

    [Fact]
    public void Restart_LosesReferencePositionAndCommands()
    {
        var rig = new Rig();
        uint serial = (uint)rig.Get("serialNumber");
        rig.Set("communicationTimeout", 5000);
        rig.Set("digitalOutputs", 2);
        Assert.True(rig.Drive.Output("valve"));
        rig.Enable();
        rig.Home();
        rig.MoveTo(60_000);
        Assert.True(rig.Until(() => (rig.Statusword & 0x400) != 0, 3000));
        double uptime = rig.Get("uptime");
        Assert.True(uptime > 1000);
        rig.Drive.Restart();
        Assert.Equal(255, rig.Read(0, 1));
        Assert.False(rig.Drive.Plant.Powered);
        rig.Pass(400);
        Assert.Equal(0x40, rig.Statusword & 0x4F);
        Assert.InRange(rig.Get("uptime"), 0, 110);
        Assert.Equal(0, rig.Get("homed"));
        Assert.InRange(rig.Get("position"), -100, 100);
        Assert.InRange(rig.Drive.Plant.Position, 59, 61);
        Assert.Equal(0, rig.Get("controlword"));
        Assert.Equal(0, rig.Get("communicationTimeout"));
        Assert.False(rig.Drive.Output("valve"));
        Assert.Equal(serial, (uint)rig.Get("serialNumber"));
    }

    [Fact]
    public void Restart_AbsoluteEncoder_KeepsItsPlace()
    {
        var rig = new Rig(Definitions.Axis() with { Reference = ReferenceKind.Absolute });
        rig.Enable();
        rig.Home();
        rig.Drive.Restart();
        rig.Pass(400);
        Assert.Equal(1, rig.Get("homed"));
        Assert.Equal(rig.Drive.Plant.Position * 1000, rig.Get("position"), 1.0);
    }

    private static bool Survives(TimeoutFeed feed, Action<Rig> speak)
    {
        var rig = new Rig(Definitions.Axis(Definitions.Words(new CommunicationTimeoutDefinition(feed, TimeoutReaction.QuickStopThenOff))));
        rig.Enable();
        rig.Set("communicationTimeout", LimitMs);
        for (int i = 0; i < 20; i++)
        {
            rig.Pass(LimitMs / 2);
            speak(rig);
        }

        return !rig.Drive.IsFaulted;
    }

    private static Rig Moving(TimeoutReaction reaction, AxisDefinition? axis = null)
    {
        var words = Definitions.Words(new CommunicationTimeoutDefinition(TimeoutFeed.AnyFrame, reaction));
        var rig = new Rig((axis ?? Definitions.Axis()) with { Drive = words });
        rig.Enable();
        rig.Home();
        rig.Set("communicationTimeout", LimitMs);
        rig.Set("profileVelocity", 100_000);
        rig.MoveTo(150_000);
        for (int i = 0; i < 20; i++)
        {
            rig.Pass(10);
            rig.Get("position");
        }

        Assert.InRange(rig.Drive.Plant.Velocity, 95, 105);
        return rig;
    }
}
