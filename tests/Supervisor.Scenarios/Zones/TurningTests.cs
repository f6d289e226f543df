using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Zones;

/// <summary>A table that turns without end under a punch: the punch goes down only while the table's holes are below it, a cam holds them apart once a turn.</summary>
public sealed class TurningTests
{
    [Fact]
    public void Move_OfTheTableByAWayThatMissesTheCam_IsDone()
    {
        var machine = Started();
        machine.Done(machine.Move("table", 90));
        machine.Done(machine.Move("punch", 40));

        // From 90 to 170 the cam at 350 to 20 is not met, to 330 neither by the shortest way, which is back over 0.
        machine.Done(machine.Move("table", 170));
        AssertRefused(machine.Do(machine.Move("table", 0)));
        machine.Done(To(machine, 30, WayRound.Negative));
        AssertRefused(machine.Do(To(machine, 60, WayRound.Negative)));
        machine.Done(To(machine, 60, WayRound.Positive));
        Assert.Empty(machine.Journal.Faults);
    }

    [Fact]
    public void Run_WithoutEnd_NeedsThePunchUp()
    {
        var machine = Started();
        machine.Done(machine.Move("table", 90));
        machine.Done(machine.Move("punch", 40));
        var run = new MoveCommand([new MoveTarget(machine.World.Axis("table"), 200, false) { WithoutEnd = true }], null);
        AssertRefused(machine.Do(run));
        machine.Done(machine.Move("punch", 0));
        var turning = machine.Control.Submit(run, machine.Grant);
        machine.Run(4);
        Assert.False(turning.Completion.IsCompleted);
        AssertRefused(machine.Do(machine.Move("punch", 40)));
        machine.Done(machine.Move("punch", 25));
        machine.Done(new HaltCommand(machine.Axes("table")));
        Assert.Empty(machine.Journal.Faults);
    }

    /// <summary>Half a turn may be taken either way round: it counts as both.</summary>
    [Fact]
    public void Move_ByHalfATurn_CountsAsEitherWay()
    {
        var machine = Started();
        machine.Done(machine.Move("table", 100));
        machine.Done(machine.Move("punch", 40));
        AssertRefused(machine.Do(machine.Move("table", 280)));
        machine.Done(To(machine, 280, WayRound.Positive));
    }

    private static SupervisedMachine Started()
    {
        var machine = Rails.Started(5, Table());
        machine.Done(new EnableCommand(machine.Axes("table", "punch")));
        machine.Done(machine.Move("punch", 0));
        return machine;
    }

    private static MachineDefinition Table() => Machines.Read("""
        { "machine": { "name": "Turning table" },
          "ports": [ { "name": "line-a", "device": "/dev/ttyS0", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 20, "gap": "proportional", "responseTimeoutMs": 5, "retries": 1 } ],
          "axes": [
            { "name": "table", "port": "line-a", "address": 1, "definition": "reference.drive.json", "unit": "deg", "countsPerUnit": 100, "endless": { "period": 360 },
              "limits": { "velocity": 300, "acceleration": 2000, "deceleration": 2000 }, "inPosition": { "window": 0.2, "dwellMs": 20 }, "reference": "absolute", "communicationTimeoutMs": 300 },
            { "name": "punch", "port": "line-a", "address": 2, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 1000,
              "limits": { "position": [0, 60], "velocity": 100, "acceleration": 2000, "deceleration": 2000 }, "inPosition": { "window": 0.1, "dwellMs": 20 }, "reference": "absolute", "communicationTimeoutMs": 300 } ],
          "zones": [ { "name": "cam", "pair": [ { "axis": "table", "between": [-10, 20] }, { "axis": "punch", "between": [30, 60] } ] } ] }
        """);

    private static MoveCommand To(SupervisedMachine machine, double position, WayRound way) =>
        new([new MoveTarget(machine.World.Axis("table"), position, false) { Way = way }], null);

    private static void AssertRefused(CommandAnswer answer) => Assert.Equal((Outcome.Refused, Refusal.ZoneNotClear), (answer.Outcome, answer.Refusal));
}
