using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Zones;

/// <summary>
/// What each port watches while its axes move, whatever the coordinator thought: here motions are put into the ports' mailboxes as if nobody
/// had asked the zones, on two lines whose ports see each other only by their snapshots.
/// </summary>
public sealed class WatchTests
{
    [Fact]
    public void Carriages_GivenTowardsEachOther_AreBothStoppedBeforeTheyTouch()
    {
        var machine = Rails.Apart(1);
        Give(machine, "left", 800);
        Give(machine, "right", 800);
        AssertNeverCollides(machine, 6);
        Assert.Equal([FaultCode.ZoneEntered, FaultCode.ZoneEntered], machine.Journal.Faults.Select(fault => fault.Code));
        Assert.All(machine.Journal.Faults, fault => Assert.Equal(0, fault.Zone));
        Assert.Equal(AxisState.Faulted, machine.State("left"));
        Assert.Equal(AxisState.Faulted, machine.State("right"));

        // Nothing brings it back by itself; a person resets, and then the zones say what may be done.
        machine.Done(new ResetCommand(machine.Axes("left", "right")));
        machine.Done(new EnableCommand(machine.Axes("left", "right")));
        Assert.Equal(Refusal.ZoneNotClear, machine.Do(machine.Move("left", 800)).Refusal);
        machine.Done(machine.Move("left", 0));
    }

    [Fact]
    public void Carriage_GivenOntoOneThatStands_IsStoppedBeforeItTouches()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("right", 500));
        Give(machine, "left", 800);
        AssertNeverCollides(machine, 6);
        Assert.Equal((machine.World.Axis("left"), FaultCode.ZoneEntered), Assert.Single(machine.Journal.Faults) is var fault ? (fault.Axis, fault.Code) : default);

        // It stops with its stopping distance and reaction time to spare, not anywhere on the way.
        Assert.InRange(machine.Axis("left").Position, 200, 420);
        Assert.Equal(AxisState.Ready, machine.State("right"));
    }

    [Fact]
    public void Carriage_GivenUnderALiftThatIsDown_DoesNotMoveFar()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("lift", 40));
        var before = machine.Axis("right").Position;
        Give(machine, "right", 300);
        machine.Run(3);
        Assert.Equal(FaultCode.ZoneEntered, Assert.Single(machine.Journal.Faults).Code);
        Assert.Equal(before, machine.Axis("right").Position, 5.0);
    }

    /// <summary>A motion that the zones let begin is stopped when the other axis no longer tells where it is.</summary>
    [Fact]
    public void Carriage_WhoseNeighbourFallsSilent_IsStopped()
    {
        var machine = Rails.Apart(1);
        machine.Control.Submit(machine.Move("left", 700), machine.Grant);
        machine.Run(0.5);
        machine.World.Ports[1].IsUnplugged = true;
        machine.RunUntil(() => machine.State("left") == AxisState.Faulted, 1, "left is stopped");
        machine.Run(0.1);
        var fault = machine.Journal.Faults.Single(fault => fault.Axis == machine.World.Axis("left"));
        Assert.Equal((FaultCode.ZoneUnproven, (short)0), (fault.Code, fault.Zone));
    }

    /// <summary>A snapshot that is written no more is taken for silence, also when it once said the axis answers.</summary>
    [Fact]
    public void Carriage_WhoseNeighboursPortIsStuck_IsStopped()
    {
        var machine = Rails.Apart(1);
        machine.Control.Submit(machine.Move("left", 700), machine.Grant);
        machine.Run(0.5);
        machine.World.Ports[1].IsHeld = true;
        machine.RunUntil(() => machine.State("left") == AxisState.Faulted, 1, "left is stopped");
        machine.Run(0.1);
        Assert.True(machine.World.Snapshot("right").Online);
        Assert.Equal(FaultCode.ZoneUnproven, machine.Journal.Faults.Single(fault => fault.Axis == machine.World.Axis("left")).Code);
    }

    /// <summary>The zones hold also while the coordinator gets no time.</summary>
    [Fact]
    public void Carriages_WhileTheCoordinatorHangs_AreStoppedAllTheSame()
    {
        var machine = Rails.Apart(1);
        Give(machine, "left", 800);
        Give(machine, "right", 800);
        machine.IsHeldUp = true;
        AssertNeverCollides(machine, 6);
        Assert.Equal(AxisState.Faulted, machine.World.State("left"));
        Assert.Equal(AxisState.Faulted, machine.World.State("right"));
    }

    /// <summary>What was excused leads out; once it is out, the zone holds for it again.</summary>
    [Fact]
    public void Excuse_OfAMotionThatHasLeftTheZone_IsOver()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("left", 350));
        machine.Done(machine.Move("left", 150));
        Give(machine, "left", 200, excused: true);
        machine.Run(2);
        machine.Done(machine.Move("arm", 150));
        Assert.Equal(Refusal.ZoneNotClear, machine.Do(machine.Move("left", 350)).Refusal);

        // Excused while nothing is in the way: the first look takes the excuse back, and the arm is met unexcused.
        machine.Done(machine.Move("arm", 0));
        Give(machine, "left", 700, excused: true, velocity: 40);
        machine.Run(0.5);
        Give(machine, "arm", 150);
        AssertNeverCollides(machine, 8);
        Assert.Contains(machine.Journal.Faults, fault => fault.Code == FaultCode.ZoneEntered && fault.Zone == 1);
    }

    private static void Give(SupervisedMachine machine, string axis, double target, bool excused = false, double velocity = 300)
    {
        var index = machine.World.Axis(axis);
        var command = new AxisCommand(
            900_000 + (ulong)index, (short)index, AxisCommandKind.Move, machine.World.Board.Latch.StopEpoch(index), target, velocity, 2000, 2000, 0)
            { ExcusedZones = excused ? ulong.MaxValue : 0 };
        Assert.True(machine.World.Board.Ports[machine.World.Machine.Axes[index].Port].Mailbox.TryWrite(command));
    }

    private static void AssertNeverCollides(SupervisedMachine machine, double seconds)
    {
        for (var left = seconds; left > 0; left -= 0.005)
        {
            machine.Run(0.005);
            Assert.Null(Rails.Collision(machine.World, Rails.Watched));
        }
    }
}
