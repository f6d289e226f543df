using Supervisor.Simulation.Drives;
using Supervisor.Simulation.Tests.Support;

namespace Supervisor.Simulation.Tests.Drives;

/// <summary>
/// The power state machine seen from the wire. Masks, values, control words and transition numbers: CiA 402 (IEC 61800-7-201), read in
/// general-purpose stacks' tables (secondary source); transition 13 from memory, unconfirmed.
/// </summary>
public sealed class Cia402StateTests
{
    private const int Disabled = 1;
    private const int Ready = 2;
    private const int SwitchedOn = 3;
    private const int Enabled = 4;
    private const int QuickStop = 5;
    private const int Reaction = 6;
    private const int Fault = 7;

    // Statusword 6041h: mask, value by state.
    private static readonly (int Mask, int Value)[] States =
        [(0x4F, 0x00), (0x4F, 0x40), (0x6F, 0x21), (0x6F, 0x23), (0x6F, 0x27), (0x6F, 0x07), (0x4F, 0x0F), (0x4F, 0x08)];

    [Fact]
    public void Transitions0And1_AfterRestart_AreAutomatic()
    {
        var rig = new Rig();
        rig.Enable();
        rig.Drive.Restart();
        Assert.Equal(255, rig.Read(0, 1));
        double boot = rig.Drive.Plant.Settings.BootTime.TotalMilliseconds;
        Assert.True(rig.Until(() => !rig.Drive.IsSilent, boot + 5));
        rig.Pass(2);
        Expect(rig, Disabled);
        Assert.Equal(1, rig.Drive.LastTransition);
    }

    [Theory]
    [InlineData(2, Disabled, 0x06, Ready)]
    [InlineData(3, Ready, 0x07, SwitchedOn)]
    [InlineData(4, SwitchedOn, 0x0F, Enabled)]
    [InlineData(5, Enabled, 0x07, SwitchedOn)]
    [InlineData(6, SwitchedOn, 0x06, Ready)]
    [InlineData(7, Ready, 0x00, Disabled)]
    [InlineData(7, Ready, 0x02, Disabled)]
    [InlineData(8, Enabled, 0x06, Ready)]
    [InlineData(9, Enabled, 0x00, Disabled)]
    [InlineData(10, SwitchedOn, 0x00, Disabled)]
    [InlineData(10, SwitchedOn, 0x02, Disabled)]
    [InlineData(11, Enabled, 0x02, QuickStop)]
    [InlineData(12, QuickStop, 0x00, Disabled)]
    [InlineData(15, Fault, 0x80, Disabled)]
    [InlineData(16, QuickStop, 0x0F, Enabled)]
    public void Transition_ByControlword_LeadsWhereTheTableSays(int number, int from, int controlword, int to)
    {
        var rig = In(from);
        rig.Set("controlword", controlword);
        Expect(rig, to);
        Assert.Equal(number, rig.Drive.LastTransition);
    }

    [Theory]
    [InlineData(Disabled, 0x07)]
    [InlineData(Disabled, 0x0F)]
    [InlineData(Disabled, 0x02)]
    [InlineData(Disabled, 0x00)]
    [InlineData(Ready, 0x06)]
    [InlineData(SwitchedOn, 0x07)]
    [InlineData(QuickStop, 0x06)]
    [InlineData(QuickStop, 0x07)]
    [InlineData(QuickStop, 0x02)]
    [InlineData(Fault, 0x06)]
    [InlineData(Fault, 0x07)]
    [InlineData(Fault, 0x0F)]
    [InlineData(Fault, 0x00)]
    [InlineData(Fault, 0x02)]
    public void Controlword_WithoutTransition_ChangesNothing(int from, int controlword)
    {
        var rig = In(from);
        rig.Set("controlword", controlword);
        rig.Pass(20);
        Expect(rig, from);
    }

    [Theory]
    [InlineData(Disabled)]
    [InlineData(Ready)]
    [InlineData(SwitchedOn)]
    [InlineData(Enabled)]
    [InlineData(QuickStop)]
    public void Transitions13And14_FaultInAnyState_EndInFault(int from)
    {
        var rig = In(from);
        rig.Drive.Trip(0x4310);
        Assert.Equal(13, rig.Drive.LastTransition);
        Expect(rig, Reaction);
        rig.Pass(200);
        Expect(rig, Fault);
        Assert.Equal(14, rig.Drive.LastTransition);
        Assert.False(rig.Drive.Plant.Powered);
        Assert.Equal(0x4310, rig.Get("errorCode"));
    }

    [Fact]
    public void Transition13_InMotion_ReactsUnderTorqueThenFaults()
    {
        var rig = new Rig();
        rig.Enable();
        rig.Home();
        rig.MoveTo(150_000);
        Assert.True(rig.Until(() => rig.Drive.Plant.Velocity > 200, 2000));
        rig.Drive.Trip(0x4310);
        rig.Pass(2);
        Expect(rig, Reaction);
        Assert.True(rig.Drive.Plant.Powered);
        Assert.True(rig.Until(() => (rig.Statusword & 0x4F) == 0x08, 500));
        Assert.Equal(0, rig.Drive.Plant.Velocity, 1.0);
        Assert.False(rig.Drive.Plant.Powered);
    }

    [Theory]
    [InlineData(0x2310)]
    [InlineData(0x2320)]
    [InlineData(0x7305)]
    public void Transition13_PowerPartOrEncoder_CutsTorqueAtOnce(int code)
    {
        var rig = new Rig();
        rig.Enable();
        rig.Drive.Trip((ushort)code);
        Assert.False(rig.Drive.Plant.Powered);
        rig.Pass(3);
        Expect(rig, Fault);
        Assert.Equal(code, rig.Get("errorCode"));
    }

    [Fact]
    public void FaultReset_Bit7AlreadyUp_NeedsARisingEdge()
    {
        var rig = new Rig();
        rig.Set("controlword", 0x80);
        rig.Drive.Trip(0x6010);
        rig.Pass(5);
        Expect(rig, Fault);
        rig.Set("controlword", 0x80);
        Expect(rig, Fault);
        rig.Set("controlword", 0x00);
        rig.Set("controlword", 0x80);
        Expect(rig, Disabled);
        Assert.Equal(0, rig.Get("errorCode"));
    }

    [Fact]
    public void EnableOperation_FromReady_PassesThroughSwitchedOn()
    {
        var rig = In(Ready);
        rig.Set("controlword", 0x0F);
        rig.Pass(5);
        Expect(rig, Enabled);
    }

    [Fact]
    public void QuickStop_Option2_RampsThenDisables()
    {
        var rig = new Rig();
        rig.Enable();
        rig.Home();
        rig.MoveTo(150_000);
        Assert.True(rig.Until(() => rig.Drive.Plant.Velocity > 200, 2000));
        rig.Set("controlword", 0x02);
        Expect(rig, QuickStop);
        Assert.True(rig.Drive.Plant.Powered);
        Assert.True(rig.Until(() => (rig.Statusword & 0x4F) == 0x40, 1000));
        Assert.False(rig.Drive.Plant.Powered);
        Assert.InRange(Math.Abs(rig.Drive.Plant.Velocity), 0, 1);
    }

    [Fact]
    public void QuickStop_Option0_TakesTorqueAtOnce()
    {
        var rig = new Rig();
        rig.Set("quickStopOption", 0);
        rig.Enable();
        rig.Set("controlword", 0x02);
        Expect(rig, Disabled);
        Assert.False(rig.Drive.Plant.Powered);
    }

    [Fact]
    public void Shutdown_InMotion_CoastsWithoutTorque()
    {
        var rig = new Rig();
        rig.Enable();
        rig.Home();
        rig.MoveTo(150_000);
        Assert.True(rig.Until(() => rig.Drive.Plant.Velocity > 200, 2000));
        rig.Set("controlword", 0x06);
        Expect(rig, Ready);
        Assert.False(rig.Drive.Plant.Powered);
        Assert.True(rig.Drive.Plant.Velocity > 100, "it can't have stopped without torque");
    }

    [Fact]
    public void EnableOperation_WhileCoasting_CatchesTheLoadOnARamp()
    {
        var rig = new Rig();
        rig.Enable();
        rig.Home();
        rig.MoveTo(150_000);
        Assert.True(rig.Until(() => rig.Drive.Plant.Velocity > 200, 2000));
        rig.Set("controlword", 0x06);
        rig.Set("controlword", 0x07);
        rig.Set("controlword", 0x0F);
        double caught = rig.Drive.Plant.Position;
        rig.Pass(1000);
        Assert.InRange(Math.Abs(rig.Drive.Plant.Velocity), 0, 0.5);
        Assert.True(rig.Drive.Plant.Position > caught, "it can't have come back");
        Assert.Equal(0, rig.Drive.ErrorCode);
    }

    [Fact]
    public void Statusword_Bits4And9_TellVoltageAndRemote()
    {
        var rig = new Rig();
        Assert.Equal(0x0210, rig.Statusword & 0x0210);
    }

    [Theory]
    [InlineData(DriveErrors.OverCurrent, 0x2310)]
    [InlineData(DriveErrors.ShortCircuit, 0x2320)]
    [InlineData(DriveErrors.Parameter, 0x6320)]
    [InlineData(DriveErrors.MotorBlocked, 0x7121)]
    [InlineData(DriveErrors.Encoder, 0x7305)]
    [InlineData(DriveErrors.Communication, 0x8130)]
    [InlineData(DriveErrors.FollowingError, 0x8611)]
    public void ErrorCodes_OfTheDrive_AreThoseOf603F(ushort code, int expected) => Assert.Equal(expected, code);

    private static Rig In(int state)
    {
        var rig = new Rig();
        switch (state)
        {
            case Disabled:
                break;
            case Fault:
                rig.Drive.Trip(0x6010);
                rig.Pass(5);
                break;
            default:
                rig.Set("quickStopOption", 6); // ramp, then stay in quick stop active
                rig.Set("mode", 1);
                int[] words = [0x06, 0x07, 0x0F, 0x02];
                foreach (int word in words.Take(state - Disabled))
                {
                    rig.Set("controlword", word);
                }

                break;
        }

        Expect(rig, state);
        return rig;
    }

    private static void Expect(Rig rig, params int[] anyOf)
    {
        int word = rig.Statusword;
        Assert.True(
            anyOf.Any(state => (word & States[state].Mask) == States[state].Value),
            $"statusword {word:X4}, {rig.Drive.StateName}, expected {string.Join(" or ", anyOf)}");
    }
}
