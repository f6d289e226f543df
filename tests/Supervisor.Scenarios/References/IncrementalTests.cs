using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.References;

/// <summary>An incremental zero survives a silence or a new supervisor only with serial number, homed flag and an uptime that covers the gap.</summary>
public sealed class IncrementalTests
{
    [Fact]
    public void Supervisor_KilledAndStartedAnew_KeepsTheZeroThatTheDriveProves()
    {
        var world = Homed(1);
        world.Do("slide", AxisCommandKind.Move, 120);
        Restart(world, downSeconds: 60, world.Notes());

        Assert.True(world.Snapshot("slide").Referenced);
        world.Do("slide", AxisCommandKind.Enable);
        Assert.Equal(120, world.Snapshot("slide").Position, 1.0);
        world.Do("slide", AxisCommandKind.Move, 20);
        Assert.Equal(20, world.Drive("slide").CountedPosition / 1000, 0.2);
    }

    [Fact]
    public void Supervisor_StartedAnewWithoutItsNote_DoesNotBelieveTheHomedFlagAlone()
    {
        var world = Homed(2);
        Restart(world, downSeconds: 1, remembered: null);
        Assert.True(world.Drive("slide").IsHomed);
        AssertMustBeHomed(world);
    }

    [Fact]
    public void Drive_RestartedWhileTheSupervisorWasDown_HasLostItsZero()
    {
        var world = Homed(3);
        var notes = world.Notes();
        world.KillSupervisor();
        world.Run(10);
        world.Drive("slide").Restart();
        world.Run(10);
        world.StartSupervisor(notes);
        world.StartUp();
        AssertMustBeHomed(world);
    }

    /// <summary>Serial number and homed flag are as they were, as somebody else homed the drive in between: only its uptime tells.</summary>
    [Fact]
    public void Drive_RestartedInAnHourWithoutThisSupervisor_IsFoundOutByItsUptimeAlone()
    {
        var world = Homed(4);
        var notes = world.Notes();
        world.KillSupervisor();
        world.Drive("slide").Restart();
        world.Run(5);
        world.StartSupervisor(null);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        world.Do("slide", AxisCommandKind.Disable);
        world.KillSupervisor();
        world.Run(3600);
        Assert.True(world.Drive("slide").IsHomed);
        world.StartSupervisor(notes);
        world.StartUp();
        AssertMustBeHomed(world);
    }

    [Fact]
    public void Board_StartedAnew_CannotCompareTimesAndAsksForHoming()
    {
        var world = Homed(5);
        var notes = world.Notes();

        // What the file gives of a note from an earlier boot.
        notes[0].UptimeKnown = false;
        Restart(world, downSeconds: 5, notes);
        AssertMustBeHomed(world);
    }

    [Fact]
    public void Drive_ExchangedWhileTheSupervisorWasDown_IsAWrongIdentityUntilAPersonResetsAndHomes()
    {
        var world = Homed(6);
        var notes = world.Notes();
        world.KillSupervisor();
        world.Drive("slide").Exchange(77);
        world.Run(5);
        world.StartSupervisor(notes);
        world.RunUntil(() => world.Snapshot("slide").Online, 10, "met");
        Assert.Equal(FaultCode.WrongIdentity, world.Snapshot("slide").Fault);
        Assert.False(FaultCatalogue.MayRecover(FaultCode.WrongIdentity));
        world.Run(1);
        world.Do("slide", AxisCommandKind.Reset);
        AssertMustBeHomed(world);
        Assert.Equal(77u, world.Notes()[0].SerialNumber);
        Assert.True(world.Notes()[0].Referenced);
    }

    [Fact]
    public void Drive_ExchangedWhileItsLineWasCut_IsAWrongIdentity()
    {
        var world = Homed(7);
        world.Ports[0].IsUnplugged = true;
        world.Run(2);
        world.Drive("slide").Exchange(78);
        world.Run(2);
        world.Ports[0].IsUnplugged = false;
        world.RunUntil(() => world.Snapshot("slide").Online, 10, "met");
        Assert.False(world.Snapshot("slide").Referenced);
        world.Run(1);
        Assert.Equal(AxisState.Faulted, world.State("slide"));
    }

    [Fact]
    public void Note_IsWrittenOnGainAndLossOnly()
    {
        var world = new SimulatedWorld(new OneAxis().Build(), 8);
        world.StartUp();
        Assert.False(world.Notes()[0].Referenced);
        var unknown = world.Notes()[0].Version;
        world.Do("slide", AxisCommandKind.Home);
        var gained = world.Notes()[0];
        Assert.True(gained.Referenced);
        Assert.Equal(world.Drive("slide").SerialNumber, gained.SerialNumber);
        Assert.Equal(unknown + 1, gained.Version);
        world.Do("slide", AxisCommandKind.Move, 100);
        world.Do("slide", AxisCommandKind.Disable);
        world.Run(60);
        Assert.Equal(gained.Version, world.Notes()[0].Version);

        world.Give("slide", AxisCommandKind.Home);
        world.RunUntil(() => world.State("slide") == AxisState.Homing, 5, "homing");
        Assert.False(world.Notes()[0].Referenced);
    }

    private static SimulatedWorld Homed(ulong seed)
    {
        var world = new SimulatedWorld(new OneAxis().Build(), seed);
        world.StartUp();
        world.Run(30);
        world.Do("slide", AxisCommandKind.Home);
        return world;
    }

    /// <summary>A drive starts anew within 300 ms: on a line of long cycles that is one question without an answer, which may be noise as well.</summary>
    [Fact]
    public void Drive_RestartedWithinOneQuestion_IsFoundOutBeforeItGetsTorque()
    {
        var world = new SimulatedWorld(new OneAxis { Port = """ "cycleMs": 250, "responseTimeoutMs": 15, "retries": 0 """, Axis = """ "communicationTimeoutMs": 1000, """ + OneAxis.Homing }.Build(), 11);
        world.StartUp();
        world.Run(1);
        world.Do("slide", AxisCommandKind.Home);
        world.Do("slide", AxisCommandKind.Disable);
        world.Run(1);
        var asked = false;
        world.FrameBegun = frame => asked = true;
        world.RunUntil(() => asked, 1, "a question");
        world.Run(0.02);
        world.Drive("slide").Restart();
        world.Run(0.31);
        Assert.True(world.Snapshot("slide").Online, "one question without an answer is no lost link");
        world.Give("slide", AxisCommandKind.Enable);
        var wasPowered = false;
        for (var i = 0; i < 300; i++)
        {
            world.Run(0.01);
            wasPowered |= world.Drive("slide").Plant.Powered;
        }

        Assert.False(wasPowered);
        Assert.False(world.Snapshot("slide").Referenced);
        Assert.Equal(FaultCode.DriveRestarted, world.Snapshot("slide").Fault);
    }

    private static void Restart(SimulatedWorld world, double downSeconds, ReferenceNote[]? remembered)
    {
        world.KillSupervisor();
        world.Run(downSeconds);
        world.StartSupervisor(remembered);
        world.StartUp();
        world.Run(1);

        // Energised and with nobody speaking to it, the drive had stopped by its own time-out and latched that.
        world.Do("slide", AxisCommandKind.Reset);
    }

    private static void AssertMustBeHomed(SimulatedWorld world)
    {
        Assert.False(world.Snapshot("slide").Referenced);
        var enable = world.Give("slide", AxisCommandKind.Enable);
        world.RunUntil(() => world.EndOf(enable).Outcome != Outcome.None, 1, "answered");
        Assert.Equal(Refusal.NotReferenced, world.EndOf(enable).Refusal);
        world.Do("slide", AxisCommandKind.Home);
        Assert.True(world.Snapshot("slide").Referenced);
    }
}
