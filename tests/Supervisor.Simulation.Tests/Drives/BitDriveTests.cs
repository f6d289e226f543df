using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Tests.Support;

namespace Supervisor.Simulation.Tests.Drives;

public sealed class BitDriveTests
{
    private const int Powered = 1;
    private const int InPosition = 2;
    private const int Referenced = 4;
    private const int Fault = 8;
    private const int Moving = 16;

    [Fact]
    public void Power_RisingAndFalling_SwitchesTorque()
    {
        var rig = new Rig(Definitions.Axis(Definitions.Bits()));
        Assert.Equal(0, Status(rig) & Powered);
        rig.Set("command", 1);
        Assert.Equal(Powered, Status(rig) & (Powered | Fault));
        Assert.True(rig.Drive.Plant.Powered);
        rig.Set("command", 0);
        Assert.Equal(0, Status(rig) & Powered);
    }

    [Fact]
    public void Go_RisingEdge_MovesAndTellsArrival()
    {
        var rig = Referencing();
        rig.Set("targetPosition", 50_000);
        rig.Set("profileVelocity", 100_000);
        rig.Set("command", 3);
        Assert.Equal(0, Status(rig) & InPosition);
        rig.Pass(50);
        Assert.Equal(Moving, Status(rig) & Moving);
        Assert.True(rig.Until(() => (Status(rig) & (InPosition | Moving)) == InPosition, 3000));
        Assert.InRange(rig.Drive.Plant.Position, 49.9, 50.1);

        // The bit stays up: a new target alone does nothing, a new edge does.
        rig.Set("targetPosition", 20_000);
        rig.Pass(100);
        Assert.Equal(InPosition, Status(rig) & InPosition);
        rig.Set("command", 1);
        rig.Set("command", 3);
        Assert.True(rig.Until(() => rig.Drive.Plant.Position < 21 && (Status(rig) & InPosition) != 0, 3000));
    }

    [Fact]
    public void Velocity_OtherScale_IsTheCommandedOne()
    {
        var rig = Referencing();
        rig.Set("targetPosition", 150_000);
        rig.Set("profileVelocity", 100_000);
        rig.Set("command", 3);
        rig.Pass(400);
        Assert.Equal(100_000, rig.Get("velocity"), 1500.0);
        Assert.Equal(100, rig.Drive.Plant.Velocity, 1.5);
    }

    [Fact]
    public void Stop_Level_StopsAndGoDuringItIsLost()
    {
        var rig = Referencing();
        rig.Set("targetPosition", 150_000);
        rig.Set("command", 3);
        rig.Pass(300);
        rig.Set("command", 5);
        Assert.True(rig.Until(() => (Status(rig) & Moving) == 0, 1000));
        double rest = rig.Drive.Plant.Position;
        rig.Set("command", 7);
        rig.Set("command", 3);
        rig.Pass(300);
        Assert.Equal(rest, rig.Drive.Plant.Position, 0.1);
        Assert.True(rig.Drive.Plant.Powered);
    }

    [Fact]
    public void FindReference_RisingEdge_References()
    {
        var rig = Referencing();
        Assert.Equal(Referenced, Status(rig) & Referenced);
        Assert.Equal(rig.Drive.Plant.Position * 1000, rig.Get("position"), 2.0);
    }

    [Fact]
    public void Fault_ClearedByEdge_StaysWithoutTorqueUntilPowerRisesAnew()
    {
        var rig = Referencing();
        rig.Drive.Trip(0x4310);
        rig.Pass(100);
        Assert.Equal(Fault, Status(rig) & (Fault | Powered));
        Assert.Equal(0x4310, rig.Get("errorCode"));
        rig.Set("command", 0x11);
        Assert.Equal(0, Status(rig) & (Fault | Powered));
        rig.Pass(100);
        Assert.Equal(0, Status(rig) & Powered);
        rig.Set("command", 0);
        rig.Set("command", 1);
        Assert.Equal(Powered, Status(rig) & Powered);
    }

    [Fact]
    public void Power_TakenInMotion_CoastsWithoutTorque()
    {
        var rig = Referencing();
        rig.Set("targetPosition", 150_000);
        rig.Set("command", 3);
        rig.Pass(300);
        rig.Set("command", 0);
        Assert.False(rig.Drive.Plant.Powered);
        Assert.True(rig.Drive.Plant.Velocity > 50);
    }

    [Fact]
    public void Power_TakenAtRest_ClosesTheBrakeFirst()
    {
        var rig = new Rig(Definitions.Hanging(Definitions.Bits()));
        rig.Set("command", 1);
        rig.Pass(200);
        double before = rig.Drive.Plant.Position;
        rig.Set("command", 0);
        Assert.Equal(Powered, Status(rig) & Powered);
        rig.Pass(100);
        Assert.Equal(0, Status(rig) & Powered);
        rig.Pass(1000);
        Assert.Equal(before, rig.Drive.Plant.Position, 0.05);
    }

    [Fact]
    public void CommunicationTimeout_FedByWrites_StopsAndFaults()
    {
        var rig = Referencing();
        rig.Set("communicationTimeout", 200);
        rig.Set("targetPosition", 150_000);
        rig.Set("command", 3);
        for (int i = 0; i < 25; i++)
        {
            rig.Pass(10);
            rig.Get("position");
        }

        rig.Pass(300);
        Assert.Equal(Fault, Status(rig) & (Fault | Powered));
        Assert.Equal(0x8130, rig.Get("errorCode"));
        Assert.InRange(rig.Drive.Plant.Position, 0, 120);
    }

    [Theory]
    [InlineData(TimeoutReaction.QuickStopThenHold, Powered | Fault)]
    [InlineData(TimeoutReaction.TorqueOff, Fault)]
    public void CommunicationTimeout_Reaction_DecidesAboutTorque(TimeoutReaction reaction, int status)
    {
        var rig = new Rig(Definitions.Axis(Definitions.Bits(new CommunicationTimeoutDefinition(TimeoutFeed.AnyFrame, reaction))));
        rig.Set("communicationTimeout", 100);
        rig.Set("command", 1);
        rig.Set("command", 9);
        for (int i = 0; i < 10; i++)
        {
            rig.Pass(50);
            Assert.Equal(Powered, Status(rig) & (Powered | Fault));
        }

        rig.Pass(110);
        Assert.Equal(status, Status(rig) & (Powered | Fault));
        rig.Pass(1000);
        Assert.Equal(status, Status(rig) & (Powered | Fault));
        Assert.Equal(0, Status(rig) & (Moving | Referenced));
    }

    [Fact]
    public void Input_InTheStatusRegister_IsOneBitOfIt()
    {
        var rig = new Rig(Definitions.Axis(Definitions.Bits()));
        Assert.Equal(0, Status(rig) & 0x200);
        rig.Drive.SetInput("guard", true);
        Assert.Equal(0x200, Status(rig) & 0x200);
        var thrown = Assert.Throws<ArgumentException>(() => rig.Drive.SetInput("gate", true));
        Assert.Contains("guard", thrown.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void FindReference_LevelBits_WorkToo()
    {
        var bits = Definitions.Bits();
        var commands = new CommandBits(new("command", 8, false), new("command", 9, false), null, new("command", 11, false), new("command", 12, false));
        var rig = new Rig(Definitions.Axis(bits with { Commands = commands }) with { Homing = new HomingDefinition(0, 40, 5, 0, TimeSpan.FromSeconds(20), 1) });
        rig.Set("command", 0x100);
        rig.Set("command", 0x900);
        Assert.True(rig.Until(() => (Status(rig) & Referenced) != 0 && (Status(rig) & Moving) == 0, 20_000));
        rig.Set("targetPosition", 30_000);
        rig.Set("command", 0x300);
        Assert.True(rig.Until(() => Math.Abs(rig.Drive.Plant.Position - 30) < 0.1, 3000));
        rig.Set("targetPosition", 60_000);
        Assert.True(rig.Until(() => Math.Abs(rig.Drive.Plant.Position - 60) < 0.1, 3000));
    }

    private static int Status(Rig rig) => (int)rig.Get("status");

    private static Rig Referencing()
    {
        var rig = new Rig(Definitions.Axis(Definitions.Bits()));
        rig.Set("command", 1);
        rig.Set("command", 9);
        Assert.True(rig.Until(() => (Status(rig) & (Referenced | Moving)) == Referenced, 20_000));
        rig.Set("command", 1);
        return rig;
    }
}
