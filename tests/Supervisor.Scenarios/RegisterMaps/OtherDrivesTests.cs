using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.RegisterMaps;

/// <summary>Drives with other register maps than the demo's walk the same life: home, move both ways, stop on the way, disable.</summary>
public sealed class OtherDrivesTests
{
    [Fact]
    public void SingleRegisterWritesOnly_WalksTheLife() => Life(new OneAxis
    {
        Wire = """ "read": { "function": 3, "maxRegisters": 32 }, "write": { "function": 6, "maxRegisters": 1 } """,
        Command = """{ "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" }, { "name": "targetPosition", "register": 66, "type": "s16", "scale": 10 }, { "name": "profileVelocity", "register": 68, "type": "u16", "scale": 100 }""",
    });

    [Fact]
    public void TwoFeedbackBlocks_WalksTheLife() => Life(new OneAxis
    {
        Feedback = """{ "name": "statusword", "register": 10, "type": "u16" }, { "name": "position", "register": 40, "type": "s32" }, { "name": "velocity", "register": 90, "type": "s32" }, { "name": "digitalInputs", "register": 300, "type": "u16" }""",
    });

    [Fact]
    public void ControlwordInTheMiddleOfScatteredCommands_WalksTheLife() => Life(new OneAxis
    {
        Command = """{ "name": "targetPosition", "register": 20, "type": "s32" }, { "name": "profileVelocity", "register": 60, "type": "u32" }, { "name": "controlword", "register": 62, "type": "u16" }, { "name": "mode", "register": 63, "type": "s16" }, { "name": "profileAcceleration", "register": 80, "type": "u32" }, { "name": "profileDeceleration", "register": 90, "type": "u32" }""",
    });

    [Fact]
    public void LowWordFirstAndReadWriteInOne_WalksTheLife() => Life(new OneAxis
    {
        Wire = """ "read": { "function": 4, "maxRegisters": 32 }, "write": { "function": 16, "maxRegisters": 32 }, "readWrite": { "function": 23 }, "wordOrder": "lowFirst", "firstRegister": 0 """,
    });

    private const string RampTimes =
        """{ "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" }, { "name": "targetPosition", "register": 66, "type": "s32" }, { "name": "profileVelocity", "register": 68, "type": "u32" }, { "name": "accelerationTime", "register": 70, "type": "u16" }, { "name": "decelerationTime", "register": 71, "type": "u16" }""";

    [Theory]
    [InlineData("300000")]
    [InlineData("\"commandedVelocity\"")]
    public void RampsAsTimesToASpeed_WalksTheLife(string toSpeed) => Life(new OneAxis
    {
        Command = RampTimes,
        Extra = new OneAxis().Extra + $", \"rampTimes\": {{ \"toSpeed\": {toSpeed} }}",
    });

    [Fact]
    public void PositionScaleOfTen_WalksTheLife() => Life(new OneAxis
    {
        Feedback = """{ "name": "statusword", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s32", "scale": 10 }, { "name": "velocity", "register": 3, "type": "s16", "scale": 100 }, { "name": "digitalInputs", "register": 5, "type": "u16" }""",
        Command = """{ "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" }, { "name": "targetPosition", "register": 66, "type": "s32", "scale": 5 }, { "name": "profileVelocity", "register": 68, "type": "u32" }, { "name": "profileAcceleration", "register": 70, "type": "u32" }, { "name": "profileDeceleration", "register": 72, "type": "u32" }""",
    });

    [Fact]
    public void NoVelocityNoTorqueNoErrorCode_WalksTheLife() => Life(new OneAxis
    {
        Feedback = """{ "name": "statusword", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s32" }, { "name": "digitalInputs", "register": 5, "type": "u16" }""",
        Command = """{ "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" }, { "name": "targetPosition", "register": 66, "type": "s32" }""",
    });

    [Fact]
    public void CoarseCountsAndNoVelocity_WalksTheLife() => Life(new OneAxis
    {
        CountsPerUnit = 20,
        Feedback = """{ "name": "statusword", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s32" }, { "name": "digitalInputs", "register": 5, "type": "u16" }""",
    });

    [Fact]
    public void SixteenBitPosition_WalksTheLife() => Life(new OneAxis
    {
        CountsPerUnit = 150,
        Feedback = """{ "name": "statusword", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s16" }, { "name": "velocity", "register": 3, "type": "s32" }, { "name": "digitalInputs", "register": 5, "type": "u16" }""",
        Command = """{ "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" }, { "name": "targetPosition", "register": 66, "type": "s16" }, { "name": "profileVelocity", "register": 68, "type": "u32" }, { "name": "profileAcceleration", "register": 70, "type": "u32" }, { "name": "profileDeceleration", "register": 72, "type": "u32" }""",
    });

    [Fact]
    public void InvertedWithHomeOffset_WalksTheLife() => Life(
        new OneAxis { Axis = """ "inverted": true, "homing": { "method": 18, "fast": 40, "slow": 5, "offset": 12.5, "timeoutMs": 20000, "order": 1 }, "reference": "incremental" """ },
        sign: -1);

    [Fact]
    public void RefreshOfTheCommandBlock_WalksTheLife() => Life(new OneAxis
    {
        Extra = """ "communicationTimeout": { "fedBy": "write", "reaction": "quickStopThenOff" }, "refreshMs": 50 """,
    });

    [Fact]
    public void TimeoutFedByWritesAlone_WalksTheLifeThoughEveryRefreshIsLost()
    {
        // Every third write goes unheard: the refresh alone, just below the time-out, would not keep the drive quiet.
        var writes = 0;
        Life(
            new OneAxis
            {
                Extra = """ "communicationTimeout": { "fedBy": "write", "reaction": "quickStopThenOff" }, "refreshMs": 350 """,
                Port = """ "cycleMs": 40, "responseTimeoutMs": 15, "retries": 0 """,
            },
            interfere: frame => frame.Writes().Any() && ++writes % 3 == 0 ? Interference.LostRequest : Interference.None);
    }

    [Fact]
    public void TimeoutFedByReadsAlone_WalksTheLife() => Life(new OneAxis
    {
        Extra = """ "communicationTimeout": { "fedBy": "read", "reaction": "quickStopThenOff" } """,
    });

    [Fact]
    public void NoRetriesOnALineThatLosesEveryTwentiethReply_WalksTheLife()
    {
        var frames = 0;
        Life(
            new OneAxis { Port = """ "cycleMs": 40, "responseTimeoutMs": 35, "retries": 0 """ },
            interfere: _ => ++frames % 20 == 0 ? Interference.LostReply : Interference.None);
    }

    [Theory]
    [InlineData("s32", 4_000_000.0, 500)]
    [InlineData("s16", 50.0, 500)]
    public void EndlessAxis_OverTheWrapOfItsCounter_NeverJumps(string type, double countsPerUnit, double step)
    {
        var world = new SimulatedWorld(new OneAxis
        {
            CountsPerUnit = countsPerUnit,
            Axis = OneAxis.Endless,
            Limits = """ "velocity": 500, "acceleration": 1000, "deceleration": 1000 """,
            Window = 0.5,
            Feedback = OneAxis.Words.Replace("\"position\", \"register\": 1, \"type\": \"s32\"", $"\"position\", \"register\": 1, \"type\": \"{type}\"", StringComparison.Ordinal),
            Command = OneAxis.Commands.Replace("\"targetPosition\", \"register\": 66, \"type\": \"s32\"", $"\"targetPosition\", \"register\": 66, \"type\": \"{type}\"", StringComparison.Ordinal),
        }.Build(), 3);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Enable);
        var begun = world.Drive("slide").Plant.PositionCounts / countsPerUnit;
        for (var i = 1; i <= 12; i++)
        {
            world.Do("slide", AxisCommandKind.MoveBy, step / 2);
            Assert.Equal(begun + (i * step / 2), world.Drive("slide").Plant.PositionCounts / countsPerUnit, 1.5);
        }

        Assert.Empty(world.Faults);
    }

    [Fact]
    public void SixteenBitTarget_TooFarToTell_IsRefused()
    {
        var world = new SimulatedWorld(new OneAxis
        {
            CountsPerUnit = 50,
            Axis = OneAxis.Endless,
            Limits = """ "velocity": 500, "acceleration": 5000, "deceleration": 5000 """,
            Window = 0.5,
            Feedback = OneAxis.Words.Replace("\"position\", \"register\": 1, \"type\": \"s32\"", "\"position\", \"register\": 1, \"type\": \"s16\"", StringComparison.Ordinal),
            Command = OneAxis.Commands.Replace("\"targetPosition\", \"register\": 66, \"type\": \"s32\"", "\"targetPosition\", \"register\": 66, \"type\": \"s16\"", StringComparison.Ordinal),
        }.Build(), 3);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Enable);

        // 1000 mm are 50000 counts; a register of 16 bits would mean 15536 the other way.
        var before = world.Drive("slide").Plant.PositionCounts;
        var far = world.Give("slide", AxisCommandKind.MoveBy, 1000);
        world.Run(0.5);
        Assert.Equal(Refusal.PositionLimit, world.EndOf(far).Refusal);
        Assert.Equal(before, world.Drive("slide").Plant.PositionCounts, 50.0);
    }

    private static void Life(OneAxis machine, int sign = 1, Func<WireFrame, Interference>? interfere = null)
    {
        var world = new SimulatedWorld(machine.Build(), 21);
        world.StartUp();
        world.Ports[0].Interfere = interfere;
        world.Do("slide", AxisCommandKind.Home);
        world.Do("slide", AxisCommandKind.Move, 150);
        Assert.Equal(150, sign * world.Drive("slide").CountedPosition / machine.CountsPerUnit, 0.2);
        world.Do("slide", AxisCommandKind.Move, 50);
        Assert.Equal(50, sign * world.Drive("slide").CountedPosition / machine.CountsPerUnit, 0.2);

        var move = world.Give("slide", AxisCommandKind.Move, 180);
        world.RunUntil(() => world.Snapshot("slide").Position > 90, 3, "on its way");
        world.Board.Latch.RequestStop(0);
        world.RunUntil(() => world.State("slide") == AxisState.Ready, 3, "stands");
        Assert.Equal(Outcome.Replaced, world.EndOf(move).Outcome);
        var stood = world.Drive("slide").CountedPosition;

        // Nothing changes for several communication time-outs: the drive must hear enough all the same.
        world.Run(3);
        Assert.Equal(AxisState.Ready, world.State("slide"));
        Assert.Equal(stood, world.Drive("slide").CountedPosition, machine.CountsPerUnit * 0.2);
        world.Do("slide", AxisCommandKind.Release);
        world.Do("slide", AxisCommandKind.Move, 20);
        world.Do("slide", AxisCommandKind.Disable);
        Assert.False(world.Drive("slide").Plant.Powered);
        world.Do("slide", AxisCommandKind.Enable);
        world.Do("slide", AxisCommandKind.Move, 30);
        Assert.Equal(30, world.Snapshot("slide").Position, 0.2);

        // Frames that are lost on purpose are told of the line, and stop nothing.
        Assert.DoesNotContain(world.Faults, fault => interfere is null || fault.Code != FaultCode.DriveErrorsFrequent);
    }
}
