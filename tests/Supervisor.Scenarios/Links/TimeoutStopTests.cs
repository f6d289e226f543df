using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.World;
using Supervisor.Scenarios.Zones;

namespace Supervisor.Scenarios.Links;

/// <summary>What ends a proof of a communication time-out in its midst, and what forbids it.</summary>
public sealed class TimeoutStopTests
{
    private const string Guard = """{ "name": "level", "kind": "process", "inputs": ["slide2.input1"], "stopCategory": 1, "axes": ["slide"] }""";
    private const int Controlword = 64;

    public static TheoryData<string> Ends() => ["stop", "halt", "trip", "authority", "disable"];

    [Theory]
    [MemberData(nameof(Ends))]
    public void Proof_StoppedInTheSilence_IsSpokenToAtOnceByTheStopFrame(string by)
    {
        var rig = new TimeoutRig((TimeoutRig.Shape("words") with { Interlocks = by == "trip" ? Guard : "" }).Build());
        var ticket = rig.UntilSilent(TimeoutRig.Moving());
        var before = rig.Frames.Count;
        var at = rig.World.Queue.Now;
        switch (by)
        {
            case "stop":
                rig.Machine.Control.Submit(new StopCommand([0]), null);
                break;
            case "halt":
                rig.Machine.Control.Submit(new HaltCommand([0]), null);
                break;
            case "trip":
                rig.World.Trip("level");
                break;
            case "disable":
                rig.Machine.Control.Submit(new DisableCommand([0]), rig.Machine.Grant);
                break;
            default:
                rig.Machine.Grant!.Dispose();
                break;
        }

        var answer = rig.EndOf(ticket);
        Assert.Equal(Outcome.Replaced, answer.Outcome);
        Assert.Empty(rig.Machine.Journal.Timeouts);

        // The next frame to anybody is the stop of this drive; what went out in the same instant was on its way.
        var first = rig.Frames.Skip(before).First(frame => frame.At >= at && frame.Unit == 1);
        Assert.Contains(first.Writes(), write => write.Address == Controlword);
        Assert.True(first.At - at < TimeSpan.FromMilliseconds(25), $"{(first.At - at).TotalMilliseconds} ms");
        rig.Machine.RunUntil(() => rig.Machine.Axis("slide").Detail is AxisDetail.None or AxisDetail.Stopped or AxisDetail.Inhibited, 5, "at rest");
        Assert.Equal(by is "trip" or "disable" ? AxisState.Disabled : AxisState.Ready, rig.Machine.State("slide"));
        Assert.True(Math.Abs(rig.World.Drive("slide").Plant.Velocity) < 0.5);
        Assert.Empty(rig.Machine.Journal.Faults);
    }

    [Fact]
    public void Proof_MachineShutDownInTheSilence_StopsTheAxis()
    {
        var rig = new TimeoutRig(TimeoutRig.File("words"));
        rig.UntilSilent(TimeoutRig.Moving());
        rig.Machine.Coordinator.BeginShutDown(rig.World.Queue.Now);
        rig.Machine.RunUntil(() => rig.Machine.Coordinator.ShutDown.IsStopped, 5, "stopped");
        Assert.False(rig.World.Drive("slide").Plant.Powered);
    }

    [Fact]
    public void Proof_NeighbourLost_GoesOn()
    {
        var rig = new TimeoutRig(TimeoutRig.File("words"));
        var ticket = rig.UntilSilent(TimeoutRig.Moving());
        rig.World.Ports[0].Interfere = frame => frame.Unit == 2 ? Interference.LostRequest : Interference.None;
        Assert.Equal(Outcome.Done, rig.EndOf(ticket).Outcome);
    }

    [Fact]
    public void Proof_ComputerHeldUpPastItsTime_IsNoFaultOfTheDrive()
    {
        var rig = new TimeoutRig(TimeoutRig.File("words"));
        var ticket = rig.UntilSilent(TimeoutRig.Moving());
        rig.World.Ports[0].PausedUntil = rig.World.Queue.Now + TimeSpan.FromSeconds(3);
        rig.Machine.IsHeldUp = true;
        rig.Machine.Run(3.1);
        rig.Machine.IsHeldUp = false;
        Assert.Equal(Outcome.Done, rig.EndOf(ticket).Outcome);
    }

    [Theory]
    [InlineData(MachineMode.Production)]
    [InlineData(MachineMode.Manual)]
    public void Proof_InAnotherMode_IsRefused(MachineMode mode)
    {
        var rig = new TimeoutRig(TimeoutRig.File("words"));
        rig.Machine.Done(new ChooseModeCommand(mode));
        rig.AssertRefused(TimeoutRig.Moving(), Refusal.NotInThisMode, "maintenance mode");
    }

    [Fact]
    public void Proof_WithoutWhatItNeeds_IsRefusedInWords()
    {
        var rig = new TimeoutRig(TimeoutRig.File("words"));
        rig.AssertRefused(TimeoutRig.Moving() with { Confirmed = false }, Refusal.NeedsConfirmation, "then confirm");
        rig.AssertRefused(TimeoutRig.Moving(by: 20), Refusal.InvalidArgument, "give a longer way or go slower");
        rig.AssertRefused(TimeoutRig.Moving(by: -60), Refusal.PositionLimit, "below the lower limit");
        rig.AssertRefused(TimeoutRig.Moving() with { Velocity = 80 }, Refusal.VelocityLimit, "maintenance mode permits");
        rig.AssertRefused(TimeoutRig.Moving() with { By = double.NaN }, Refusal.InvalidArgument, "give a number");
        rig.Machine.Done(new DisableCommand([0]));
        rig.AssertRefused(TimeoutRig.Moving(), Refusal.NotEnabled, "enable it first");
        rig.Machine.Grant!.Dispose();
        rig.AssertRefused(TimeoutRig.Moving(), Refusal.NoAuthority, "authority");
    }

    [Fact]
    public void Proof_InterlockOpen_IsRefused()
    {
        var rig = new TimeoutRig((TimeoutRig.Shape("words") with { Interlocks = Guard }).Build());
        rig.World.Drive("slide2").SetInput("input1", false);
        rig.Machine.Run(0.3);
        rig.AssertRefused(TimeoutRig.Moving(), Refusal.InterlockOpen, "level");
    }

    [Theory]
    [InlineData("slide.input1", 150, true)]
    [InlineData("slide.input1", 900, false)]
    [InlineData("slide2.input1", 150, false)]
    public void Proof_OfADriveWhoseInputAnInterlockReads_IsRefusedUnlessThatWaitsLonger(string input, int staleMs, bool isRefused)
    {
        var interlock = $$"""{ "name": "level", "kind": "process", "inputs": ["{{input}}"], "stopCategory": 1, "axes": ["slide"], "staleMs": {{staleMs}} }""";
        var rig = new TimeoutRig((TimeoutRig.Shape("words") with { Interlocks = interlock }).Build());
        if (isRefused)
        {
            rig.AssertRefused(TimeoutRig.Moving(), Refusal.DriveIsNeeded, "interlock level reads an input of it");
            return;
        }

        Assert.Equal(Outcome.Done, rig.Machine.Do(TimeoutRig.Moving()).Outcome);
    }

    [Fact]
    public void Proof_OfADriveWithoutATimeout_IsRefused()
    {
        var rig = new TimeoutRig((TimeoutRig.Shape("words") with
        {
            Extra = "\"refreshMs\": 0", Axis = """ "jog": { "velocity": 50 }, """ + OneAxis.Homing, Plain = OneAxis.Parameters.Split("}, ", 2)[1], CommunicationTimeout = false,
        }).Build());
        rig.AssertRefused(TimeoutRig.Moving(), Refusal.NoCommunicationTimeout, "nothing is to prove");
    }

    [Fact]
    public void Proof_CompanionOfTheGroupEnergised_IsRefused_AndItGetsNoTorqueMeanwhile()
    {
        var rig = new TimeoutRig(TimeoutRig.File("words", more: """ "group": "carriers", """));
        rig.AssertRefused(TimeoutRig.Moving(), Refusal.CompanionEnergised, "slide2 is of the same group as slide");
        rig.Machine.Done(new DisableCommand([1]));
        var ticket = rig.UntilSilent(TimeoutRig.Moving());
        var enable = rig.Machine.Do(new EnableCommand([1]));
        Assert.Equal((Outcome.Refused, Refusal.AxisBusy), (enable.Outcome, enable.Refusal));
        Assert.Contains("is being proven", enable.Message, StringComparison.Ordinal);
        Assert.Equal(Outcome.Done, rig.EndOf(ticket).Outcome);
    }

    [Fact]
    public void Proof_AlongsideAnAxisOfNoConcern_LeavesItsMoveAlone()
    {
        var rig = new TimeoutRig(TimeoutRig.File("words"));
        var ticket = rig.UntilSilent(TimeoutRig.Moving());
        var move = rig.Machine.Do(rig.Machine.Move("slide2", 40));
        Assert.Equal(Outcome.Done, move.Outcome);
        Assert.Equal(Outcome.Done, rig.EndOf(ticket).Outcome);
    }

    [Fact]
    public void Proof_InAZone_NeedsItsCompanionOffAndItsWholeWayClear()
    {
        var machine = Rails.Apart(71);
        machine.Done(machine.Move("right", 300));
        machine.Done(new ChooseModeCommand(MachineMode.Maintenance));
        var left = machine.World.Axis("left");
        var prove = new ProveTimeoutCommand(left, 60, 20, Confirmed: true);
        var energised = machine.Do(prove);
        Assert.Equal((Outcome.Refused, Refusal.CompanionEnergised), (energised.Outcome, energised.Refusal));
        machine.Done(new DisableCommand(machine.Axes("right", "arm", "lift")));

        // The way leads to where the other carriage stands, the silence or not.
        var far = machine.Do(prove with { By = 799 });
        Assert.Equal(Outcome.Refused, far.Outcome);
        Assert.True(far.Refusal is Refusal.ZoneNotClear, far.ToString());

        // And the enabling of a companion waits.
        var ticket = machine.Control.Submit(prove, machine.Grant);
        machine.RunUntil(() => machine.Axis("left").Detail == AxisDetail.ProvingTimeout, 3, "proving");
        Assert.Equal(Refusal.AxisBusy, machine.Do(new EnableCommand(machine.Axes("right"))).Refusal);
        machine.RunUntil(() => ticket.Completion.IsCompleted, 10, "ended");
        var answer = SupervisedMachine.Ended(ticket);
        Assert.True(answer.Outcome == Outcome.Done, answer.ToString());
        Assert.DoesNotContain(machine.Journal.Faults, fault => fault.Code is FaultCode.ZoneEntered or FaultCode.ZoneUnproven);
    }
}
