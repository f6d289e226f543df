using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.References;

/// <summary>An absolute zero belongs to one drive, and to a battery that kept it.</summary>
public sealed class AbsoluteTests
{
    private const string Absolute = """ "homing": { "method": 17, "fast": 40, "slow": 5, "offset": 0, "timeoutMs": 20000, "order": 1 }, "reference": "absolute" """;
    private const string BatteryBit = """ "batteryAlarm": "digitalInputs.7", "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff" } """;
    private const string BatteryCode = """ "batteryAlarm": 29456, "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff" } """;

    [Fact]
    public void Drive_Restarted_KeepsItsZero()
    {
        var world = Met(1);
        Assert.True(world.Snapshot("slide").Referenced);
        world.Drive("slide").Restart();
        world.RunUntil(() => world.State("slide") == AxisState.Faulted, 10, "restart seen");
        world.RunUntil(() => world.Snapshot("slide").Online, 10, "met again");
        world.Run(1);
        world.Do("slide", AxisCommandKind.Reset);
        Assert.True(world.Snapshot("slide").Referenced);
        world.Do("slide", AxisCommandKind.Enable);
    }

    [Fact]
    public void Drive_FirstMet_IsBoundToItsSerialNumber()
    {
        var world = Met(2);
        Assert.Equal(world.Drive("slide").SerialNumber, world.Notes()[0].SerialNumber);
        Assert.True(world.Notes()[0].Referenced);
    }

    [Fact]
    public void Drive_ExchangedBetweenRuns_IsRefusedUntilHomedAndStaysSoOverRestarts()
    {
        var world = Met(3);
        var notes = world.Notes();
        world.KillSupervisor();
        world.Drive("slide").Exchange(99);
        world.Run(5);
        world.StartSupervisor(notes);
        world.RunUntil(() => world.Snapshot("slide").Fault == FaultCode.WrongIdentity, 10, "found out");
        world.Run(1);
        world.Do("slide", AxisCommandKind.Reset);

        // A reset does not make the zero good, nor does another start of the supervisor.
        notes = world.Notes();
        world.KillSupervisor();
        world.StartSupervisor(notes);
        world.StartUp();
        Assert.False(world.Snapshot("slide").Referenced);
        world.Do("slide", AxisCommandKind.Home);
        Assert.True(world.Snapshot("slide").Referenced);
    }

    [Theory]
    [InlineData(BatteryBit)]
    [InlineData(BatteryCode)]
    public void Battery_Empty_LosesTheZeroAndCannotBeResetWhileItStands(string alarm)
    {
        var world = Met(4, alarm);
        world.Do("slide", AxisCommandKind.Enable);
        world.Drive("slide").IsBatteryEmpty = true;
        world.RunUntil(() => world.State("slide") == AxisState.Faulted, 2, "seen");
        Assert.Equal(FaultCode.EncoderBattery, world.Snapshot("slide").Fault);
        Assert.False(FaultCatalogue.MayRecover(FaultCode.EncoderBattery));
        world.Run(1);
        var reset = world.Give("slide", AxisCommandKind.Reset);
        world.RunUntil(() => world.EndOf(reset).Outcome != Outcome.None, 5, "answered");
        Assert.Equal(Outcome.Failed, world.EndOf(reset).Outcome);

        world.Drive("slide").IsBatteryEmpty = false;
        world.Run(1);
        world.Do("slide", AxisCommandKind.Reset);
        Assert.False(world.Snapshot("slide").Referenced);
        world.Do("slide", AxisCommandKind.Home);
        Assert.True(world.Snapshot("slide").Referenced);
    }

    [Fact]
    public void Battery_EmptyWhileTheSupervisorWasDown_IsFoundAtFirstContact()
    {
        var world = Met(5, BatteryBit);
        var notes = world.Notes();
        world.KillSupervisor();
        world.Run(1);
        world.Drive("slide").IsBatteryEmpty = true;
        world.StartSupervisor(notes);
        world.RunUntil(() => world.Snapshot("slide").Fault == FaultCode.EncoderBattery, 10, "found out");
        Assert.False(world.Notes()[0].Referenced);
    }

    [Fact]
    public void NoReference_IsEnabledAtOnceAndNeverNoted()
    {
        var world = new SimulatedWorld(new OneAxis { Axis = OneAxis.Endless, Limits = """ "velocity": 200, "acceleration": 1500, "deceleration": 1500 """ }.Build(), 6);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Enable);
        world.Do("slide", AxisCommandKind.MoveBy, 90);
        Assert.False(world.Notes()[0].IsKnown);
        Assert.Equal(ReferenceKind.None, world.Machine.Axes[0].Reference);
    }

    private static SimulatedWorld Met(ulong seed, string extra = BatteryBit)
    {
        var axis = new OneAxis
        {
            Axis = Absolute, Extra = extra,
            Feedback = OneAxis.Words + ", { \"name\": \"errorCode\", \"register\": 6, \"type\": \"u16\" }",
        };
        var world = new SimulatedWorld(axis.Build(), seed);
        world.StartUp();
        return world;
    }
}
