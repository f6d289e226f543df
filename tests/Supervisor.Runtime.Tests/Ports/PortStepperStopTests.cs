using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Ports;

/// <summary>Stops as a stepper puts them on the line.</summary>
public sealed class PortStepperStopTests
{
    [Fact]
    public void FirstFrameToEveryDrive_IsItsStop()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"), Parts.Axis("b", 2), Parts.Axis("c", 3)));
        rig.Meet();
        foreach (var unit in new byte[] { 1, 2, 3 })
        {
            // Controlword 6040h quick stop 02h [2]: secondary text, general-purpose open-source stacks' tables.
            Assert.Equal([16, 0, 64, 0, 1, 2, 0, 2], rig.Frames.First(frame => frame.Unit == unit).Frame[1..9]);
        }

        Assert.DoesNotContain(rig.Drives.SelectMany(drive => drive.Writes), write => write.Register == 64 && (write.Value & 0x0F) == 0x0F);
    }

    [Fact]
    public void Trip_StopsGravityLoadedAxesFirst()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"), Parts.Axis("b", 2), Parts.Axis("c", 3) with { GravityLoaded = true }));
        Enabled(rig);
        rig.Frames.Clear();
        rig.Board.Latch.Trip(StopCauses.ShutDown);
        rig.Run(12);
        Assert.Equal([3, 1, 2], rig.Frames.Take(3).Select(frame => (int)frame.Unit));
        Assert.All(rig.Frames.Take(3), frame => Assert.Equal(16, frame.Function));
    }

    [Fact]
    public void Trip_BetweenTheChoiceAndTheFirstByte_WithdrawsWhatWasChosenAndTheStopGoesOut()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"), Parts.Axis("b", 2)));
        Enabled(rig);
        var withdrawn = 0;
        for (var axis = 0; axis < 2; axis++)
        {
            rig.Give(axis, AxisCommandKind.Move, 100);
            rig.BeforeTheFirstByte = () =>
            {
                rig.BeforeTheFirstByte = null;
                withdrawn++;
                rig.Frames.Clear();
                rig.Board.Latch.Trip(StopCauses.ShutDown);
            };
            rig.RunUntil(() => withdrawn > axis, "tripped");
            rig.Run(12);

            // The control register alone, whatever had been chosen: quick stop, or halted (bit 8) where it stands (CiA 402 as above).
            Assert.Equal([16, 0, 64, 0, 1, 2], rig.Frames[0].Frame[1..7]);
            var controlword = (rig.Frames[0].Frame[7] << 8) | rig.Frames[0].Frame[8];
            Assert.True((controlword & 0x0F) == 0x02 || (controlword & 0x110) == 0x100, $"axis {axis}: {string.Join(" | ", rig.Frames.Take(6).Select(frame => Convert.ToHexString(frame.Frame)))}");
            Assert.DoesNotContain(rig.Drives.SelectMany(drive => drive.Writes), write => write.Register == 66 && write.Value != 0);
            rig.Board.Latch.Reset(StopCauses.ShutDown, rig.Board.Latch.TripCount(StopCauses.ShutDown));
            rig.Run(300);
            rig.Give(0, AxisCommandKind.Enable);
            rig.Give(1, AxisCommandKind.Enable);
            rig.RunUntil(() => rig.Axis(0).State == AxisState.Ready && rig.Axis(1).State == AxisState.Ready, "enabled again");
        }
    }

    [Fact]
    public void WhatWasWithdrawn_GoesOutLaterAndCountsAsNoError()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        Enabled(rig);
        var errors = rig.Board.Ports[0].Port.Read().Errors;
        var move = rig.Give(0, AxisCommandKind.Move, 100);
        var changes = 20;
        rig.Drives[0].Writes.Clear();

        // What changes in the latch concerns nobody here: the choice is made anew and is the same.
        rig.BeforeTheFirstByte = () =>
        {
            if (changes-- > 0)
            {
                rig.Board.Latch.Reset(StopCauses.ShutDown, rig.Board.Latch.TripCount(StopCauses.ShutDown));
            }
        };
        rig.RunUntil(() => rig.Drives[0].Writes.Any(write => write.Register == 67), "the target went out");
        Assert.True(changes < 0);
        Assert.Equal(errors, rig.Board.Ports[0].Port.Read().Errors);
        Assert.NotEqual(Outcome.Failed, rig.EndOf(move));
    }

    [Fact]
    public void Stop_IsRepeatedUntilTheFeedbackShowsDeceleration()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        Enabled(rig);
        Running(rig);
        rig.Drives[0].ObeysStops = false;
        rig.Frames.Clear();
        rig.Board.Latch.RequestHalt(0);
        rig.Run(400);
        var deaf = Stops(rig);
        Assert.InRange(deaf, 8, 12);

        // Slowing down: the stop worked, and is not sent again.
        rig.Drives[0].Velocity = 50_000;
        rig.Run(60);
        var seen = Stops(rig);
        rig.Run(300);
        Assert.Equal(seen, Stops(rig));
        rig.Drives[0].Velocity = 0;
        rig.RunUntil(() => rig.Axis(0).State == AxisState.Ready, "stands");
    }

    [Fact]
    public void Stop_ThatNeverWorks_CostsTheTorque()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        Enabled(rig);
        Running(rig);
        rig.Drives[0].ObeysStops = false;
        var stop = rig.Now;
        rig.Board.Latch.RequestHalt(0);
        rig.RunUntil(() => rig.Axis(0).State == AxisState.Faulted, "stop failed");
        Assert.Equal(FaultCode.StopFailed, rig.Axis(0).Fault);
        Assert.True(rig.Now - stop < TimeSpan.FromSeconds(2));
        rig.Run(100);
        Assert.Equal((64, (ushort)0), rig.Drives[0].Writes[^1]);
    }

    [Fact]
    public void Stop_ThatNeverWorks_CostsTheTorqueOfTheGroupAlone()
    {
        var machine = Parts.Machine(Parts.Axis("a", 1) with { Group = 0 }, Parts.Axis("b", 2) with { Group = 0 }, Parts.Axis("c", 3));
        var rig = new StepperRig(machine with { Groups = [new Configuration.Machines.GroupDefinition("head", [0, 1])] });
        Enabled(rig);
        Running(rig);
        rig.Drives[0].ObeysStops = false;
        rig.Board.Latch.RequestHalt(0);
        rig.RunUntil(() => rig.Axis(0).State == AxisState.Faulted, "stop failed");
        rig.RunUntil(() => rig.Axis(1).State == AxisState.Disabled, "the other of the group gives up its torque");
        rig.Run(200);
        Assert.Equal((64, (ushort)0), rig.Drives[1].Writes[^1]);
        Assert.Equal(AxisState.Ready, rig.Axis(2).State);
    }

    [Fact]
    public void Trip_WhileARequestIsUnanswered_CancelsItsRepeats()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"), Parts.Axis("b", 2)));
        Enabled(rig);
        var isTripped = false;
        rig.OnTheLine = () =>
        {
            if (!isTripped && rig.Frames[^1] is { Unit: 1, Function: 3 })
            {
                isTripped = true;
                rig.Fate = (unit, function) => unit == 1 && function == 3 ? -1 : 0;
                rig.Frames.Clear();
                rig.Board.Latch.Trip(StopCauses.ShutDown);
            }
        };
        rig.RunUntil(() => isTripped && rig.Frames.Count >= 2, "two frames after the trip");
        Assert.All(rig.Frames.Take(2), frame => Assert.Equal(16, frame.Function));
    }

    [Fact]
    public void Stop_ThatIsRefusedForEver_LeavesTheLineToTheOthers()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"), Parts.Axis("b", 2)));
        Enabled(rig);
        rig.Fate = (unit, function) => unit == 1 && function == 16 ? 4 : 0;
        rig.Frames.Clear();
        rig.Board.Latch.RequestHalt(0);
        rig.Give(0, AxisCommandKind.Disable);
        rig.Run(1000);
        Assert.InRange(rig.Frames.Count(frame => frame is { Unit: 2, Function: 3 }), 20, 30);
        Assert.InRange(rig.Frames.Count(frame => frame is { Unit: 1, Function: 3 }), 20, 30);
        Assert.Contains(rig.Faults(), fault => fault is { Axis: 0, Code: FaultCode.RequestRejected });
    }

    [Fact]
    public void Command_GivenBeforeAStop_IsCancelledUnheard()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        Enabled(rig);
        var move = rig.Give(0, AxisCommandKind.Move, 10);
        rig.Board.Latch.RequestHalt(0);
        rig.Run(200);
        Assert.Equal(Refusal.Stopped, Assert.Single(rig.Reports(), report => report.CommandId == move).Refusal);
        Assert.Equal(0, rig.Drives[0][64] & 0x10);
    }

    [Fact]
    public void CutPower_IsRepeatedUntilTorqueIsOff()
    {
        var machine = Parts.Machine(Parts.Axis("a")) with { Interlocks = [Parts.Interlock("cut", Configuration.Machines.InterlockKind.Process, 0, [0], 0)] };
        var rig = new StepperRig(machine);
        rig.Drives[0][5] = 1;
        Enabled(rig);
        rig.Drives[0].Statusword = 0x0637;
        rig.Frames.Clear();
        rig.Drives[0][5] = 0;
        rig.Run(400);
        Assert.InRange(Stops(rig), 6, 12);
        rig.Drives[0].Statusword = null;
        rig.RunUntil(() => rig.Axis(0).State == AxisState.Disabled && !rig.Axis(0).TorqueOn, "off");
    }

    private static int Stops(StepperRig rig) => rig.Frames.Count(frame => frame.Function == 16 && frame.Frame[3] == 64 && frame.Frame[5] == 1);

    private static void Running(StepperRig rig)
    {
        rig.Give(0, AxisCommandKind.Move, 450);
        rig.RunUntil(() => (rig.Drives[0][64] & 0x10) != 0, "set-point raised");
        rig.Drives[0].Velocity = 100_000;
        rig.Run(100);
        Assert.Equal(AxisState.Moving, rig.Axis(0).State);
    }

    internal static void Enabled(StepperRig rig)
    {
        rig.Meet();
        for (var axis = 0; axis < rig.Drives.Length; axis++)
        {
            // Met with a zero that nobody found is not ready to move: these are told that they know theirs.
            var home = rig.Board.Machine.Axes[axis].Reference;
            Assert.NotEqual(Configuration.Machines.ReferenceKind.Incremental, home);
            rig.Give(axis, AxisCommandKind.Enable);
        }

        rig.RunUntil(() => Enumerable.Range(0, rig.Drives.Length).All(axis => rig.Axis(axis).State == AxisState.Ready), "all enabled");
    }
}
