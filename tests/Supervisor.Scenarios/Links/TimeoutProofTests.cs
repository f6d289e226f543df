using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Links;

/// <summary>A drive is left unasked on purpose: what it does by its own communication time-out, told and true of the plant.</summary>
public sealed class TimeoutProofTests
{
    // Ten percent of 300 ms is less than 50 ms, and the register steps by 1 ms.
    private static readonly TimeSpan ActsBy = TimeSpan.FromMilliseconds(351);

    public static TheoryData<string, string, string, bool> Drives()
    {
        var data = new TheoryData<string, string, string, bool>();
        foreach (var coding in new[] { "words", "bits", "blind" })
        {
            foreach (var reaction in new[] { "quickStopThenOff", "quickStopThenHold", "torqueOff" })
            {
                data.Add(coding, reaction, "anyFrame", true);
                data.Add(coding, reaction, "anyFrame", false);
            }

            data.Add(coding, "quickStopThenOff", "write", true);
            data.Add(coding, "quickStopThenOff", "read", true);
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(Drives))]
    public void Proof_DriveThatActs_IsPassedAndTheAxisIsOffAfterItsReset(string coding, string reaction, string fedBy, bool moves)
    {
        var rig = new TimeoutRig(TimeoutRig.File(coding, reaction, fedBy));
        var plant = rig.World.Drive("slide").Plant;
        var from = plant.Position;
        var ticket = rig.UntilSilent(moves ? TimeoutRig.Moving() : TimeoutRig.AtRest());
        Assert.Equal(AxisState.Moving, rig.Machine.State("slide"));
        var answer = rig.EndOf(ticket);

        Assert.True(answer.Outcome == Outcome.Done, answer.ToString());
        var measured = rig.Measured;
        Assert.Equal(TimeoutVerdict.Passed, measured.Verdict);
        Assert.Equal("commissioner", rig.Machine.Journal.Timeouts[0].Holder);
        Assert.Equal(0, rig.FramesTo(1, measured));
        Assert.True(rig.FramesTo(2, measured) >= 5, "the other drive of the line goes on being asked");
        Assert.True(measured.Silence > measured.Timeout);

        // As it is, not as it is told: at rest short of its target, with the torque that the reaction leaves.
        rig.Machine.RunUntil(() => rig.Machine.Axis("slide").Detail == AxisDetail.None, 5, "the axis rests");
        Assert.True(Math.Abs(rig.World.Drive("slide").Plant.Velocity) < 0.5);
        Assert.False(rig.World.Drive("slide").Plant.Powered);
        if (moves)
        {
            Assert.InRange(measured.Distance, measured.Timeout.TotalSeconds * TimeoutRig.Velocity * (fedBy == "write" ? 0.5 : 0.9), reaction == "torqueOff" ? 200 : measured.Allowed);
            Assert.True(Math.Abs(rig.World.Drive("slide").Plant.Position - from) < TimeoutRig.Way * 0.95 || reaction == "torqueOff");
            Assert.Equal(TimeoutRig.Velocity, Math.Abs(measured.Velocity), 5.0);
        }

        Assert.Equal(reaction == "quickStopThenHold" ? TimeSpan.MaxValue : measured.OffAfter, measured.OffAfter);

        // What the drive latched is held until its reset and is no fault of anybody.
        Assert.Equal((AxisState.Faulted, FaultCode.DriveCommunicationTimeout), (rig.Machine.State("slide"), rig.World.Snapshot("slide").Fault));
        Assert.Empty(rig.Machine.Journal.Faults);
        rig.Machine.Done(new ResetCommand([0]));
        Assert.Equal(AxisState.Disabled, rig.Machine.State("slide"));
        Assert.False(rig.World.Drive("slide").IsFaulted);
        Assert.True(rig.World.Snapshot("slide").Referenced);
        rig.Machine.Done(new EnableCommand([0]));
        rig.Machine.Done(rig.Machine.Move("slide", 20));
        Assert.Equal(20, rig.World.Snapshot("slide").Position, 0.2);
        Assert.Empty(rig.Machine.Journal.Returns);
    }

    [Fact]
    public void Proof_InMotion_TellsWhenTheDriveBeganToBrake()
    {
        var rig = new TimeoutRig(TimeoutRig.File("words"));
        rig.EndOf(rig.UntilSilent(TimeoutRig.Moving()));

        // The drive counts from the last frame: that and its ramp are all there is to its way.
        Assert.InRange(rig.Measured.ActedAfter, TimeSpan.FromMilliseconds(270), ActsBy);
        Assert.Equal(0x8130, rig.Measured.DriveCode);
    }

    [Theory]
    [InlineData("words", true)]
    [InlineData("words", false)]
    [InlineData("bits", true)]
    [InlineData("blind", true)]
    public void Proof_TimeoutSwitchedOffBehindOurBack_FailsAndStopsTheAxisAtOnce(string coding, bool moves)
    {
        var rig = new TimeoutRig(TimeoutRig.File(coding));
        rig.World.Drive("slide").Write(128, [0]);
        var answer = rig.Machine.Do(moves ? TimeoutRig.Moving() : TimeoutRig.AtRest());

        Assert.Equal((Outcome.Failed, FaultCode.CommunicationTimeoutFailed), (answer.Outcome, answer.Fault));
        Assert.Contains("did not act by its communication time-out", answer.Message, StringComparison.Ordinal);
        Assert.Contains("set the time-out", answer.Message, StringComparison.Ordinal);
        Assert.Equal(TimeoutVerdict.DidNotAct, rig.Measured.Verdict);
        Assert.Contains(rig.Machine.Journal.Faults, fault => fault.Code == FaultCode.CommunicationTimeoutFailed && fault.Axis == 0);
        rig.Machine.RunUntil(() => rig.Machine.Axis("slide").Detail == AxisDetail.None, 2, "stopped");
        Assert.Equal(AxisState.Faulted, rig.Machine.State("slide"));
        Assert.False(rig.World.Drive("slide").Plant.Powered);
        Assert.True(rig.World.Drive("slide").Plant.Position < TimeoutRig.Way * 0.9, "it was stopped, and did not come to its target");
    }

    /// <summary>One that holds after its stop, and one that came to its target because nothing stopped it, look the same but for the place.</summary>
    [Fact]
    public void Proof_ComputerHeldUpWhileADriveThatHoldsDoesNotAct_FailsAtItsTarget()
    {
        var rig = new TimeoutRig(TimeoutRig.File("words", "quickStopThenHold"));
        rig.World.Drive("slide").Write(128, [0]);
        var ticket = rig.UntilSilent(TimeoutRig.Moving());
        rig.World.Ports[0].PausedUntil = rig.World.Queue.Now + TimeSpan.FromSeconds(3);
        rig.Machine.IsHeldUp = true;
        rig.Machine.Run(3.1);
        rig.Machine.IsHeldUp = false;
        Assert.Equal(FaultCode.CommunicationTimeoutFailed, rig.EndOf(ticket).Fault);
        Assert.Equal(TimeoutVerdict.DidNotAct, rig.Measured.Verdict);
    }

    [Theory]
    [InlineData(900, TimeoutVerdict.DidNotAct)]
    [InlineData(300, TimeoutVerdict.Passed)]
    public void Proof_TimeoutLongerThanTheFiles_Fails(ushort timeoutMs, TimeoutVerdict verdict)
    {
        var rig = new TimeoutRig(TimeoutRig.File("words"));
        rig.World.Drive("slide").Write(128, [timeoutMs]);
        rig.Machine.Do(TimeoutRig.Moving());
        Assert.Equal(verdict, rig.Measured.Verdict);
    }

    [Theory]
    [InlineData("quickStopThenHold", "quickStopThenOff")]
    [InlineData("torqueOff", "quickStopThenHold")]
    [InlineData("quickStopThenOff", "quickStopThenHold")]
    public void Proof_DriveSetToAnotherReaction_Fails(string set, string declared)
    {
        // The definition that the supervisor reads says otherwise than the drive on the line does.
        var rig = new TimeoutRig(TimeoutRig.File("words", declared));
        rig.World.Drive("slide").Reaction = Enum.Parse<Supervisor.Configuration.Drives.TimeoutReaction>(set, ignoreCase: true);
        var answer = rig.Machine.Do(TimeoutRig.Moving());
        Assert.Equal(FaultCode.CommunicationTimeoutFailed, answer.Fault);
        Assert.Equal(TimeoutVerdict.OtherReaction, rig.Measured.Verdict);
    }

    [Fact]
    public void Proof_DriveThatStartsAnewInTheSilence_IsNone()
    {
        var rig = new TimeoutRig(TimeoutRig.File("words"));
        var ticket = rig.UntilSilent(TimeoutRig.Moving());
        rig.World.Drive("slide").Restart();
        var answer = rig.EndOf(ticket);
        Assert.Equal(Outcome.Failed, answer.Outcome);
        Assert.True(answer.Fault is FaultCode.DriveRestarted or FaultCode.LinkLost, answer.ToString());
        Assert.Empty(rig.Machine.Journal.Timeouts);
    }

    [Fact]
    public void Proof_DriveThatDoesNotAnswerAfterwards_IsNoneAndTheLinkIsLost()
    {
        var rig = new TimeoutRig(TimeoutRig.File("words"));
        var ticket = rig.UntilSilent(TimeoutRig.Moving());
        rig.World.Ports[0].Interfere = frame => frame.Unit == 1 ? Interference.LostRequest : Interference.None;
        var answer = rig.EndOf(ticket);
        Assert.Equal((Outcome.Failed, FaultCode.LinkLost), (answer.Outcome, answer.Fault));
        Assert.Empty(rig.Machine.Journal.Timeouts);
    }
}
