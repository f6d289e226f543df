using Supervisor.Runtime.Axes;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Ports;
using Supervisor.Runtime.Stops;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Ports;

/// <summary>Whose turn it is on the line, and what becomes of a drive that does not answer, refuses, or is another one than before.</summary>
public sealed class PortStepperLineTests
{
    /// <summary>Rest is two feedbacks in a row: one from before a silence is none of them, for nobody saw what the drive did in it.</summary>
    [Fact]
    public void Rest_SeenOnceBeforeASilence_IsCountedAnewAfterIt()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        rig.Meet();
        rig.Give(0, AxisCommandKind.Enable);
        rig.RunUntil(() => rig.Axis(0).State == AxisState.Ready, "ready");
        rig.Drives[0].Statusword = 0x0637;
        rig.Drives[0].ObeysStops = false;
        rig.Drives[0].Velocity = 5_000;
        rig.RunUntil(() => rig.Axis(0).Velocity > 4, "moves");
        rig.Stepper.Axes[0].SeeFault(FaultCode.OverTemperature, 0, rig.Now);
        rig.Run(50);
        rig.Drives[0].Velocity = 0;
        rig.RunUntil(() => rig.Axis(0).Velocity < 1, "rest is seen once");
        rig.Fate = (_, _) => -1;
        rig.RunUntil(() => !rig.Axis(0).Online, "silent");
        var rows = new List<(AxisEvent On, int Feedbacks)>();
        rig.Stepper.Axes[0].RowTaken = (_, row) => rows.Add((row.On, rig.Frames.Count(frame => frame.Function == 3 && frame.Frame[3] == 0)));
        rig.Fate = null;
        rig.RunUntil(() => rows.Any(row => row.On == AxisEvent.AtRest), "at rest");
        Assert.Equal([AxisEvent.Contacted, AxisEvent.AtRest], rows.Take(2).Select(row => row.On));
        Assert.Equal(2, rows[1].Feedbacks - rows[0].Feedbacks);
    }

    [Fact]
    public void Cycle_ReadsEveryAxisOnceWhileNothingChanges()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"), Parts.Axis("b", 2)));
        rig.Meet();
        rig.Frames.Clear();
        rig.Run(400);
        Assert.InRange(rig.Frames.Count(frame => frame is { Unit: 1, Function: 3 } && frame.Frame[3] == 0), 10, 11);
        Assert.InRange(rig.Frames.Count(frame => frame is { Unit: 2, Function: 3 } && frame.Frame[3] == 0), 10, 11);
        Assert.DoesNotContain(rig.Frames, frame => frame.Function == 16);
    }

    [Fact]
    public void SecondExchange_StaysWithinTheCycle()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"), Parts.Axis("b", 2)));
        PortStepperStopTests.Enabled(rig);
        rig.Duration = TimeSpan.FromMilliseconds(9);
        rig.Run(400);
        rig.Frames.Clear();
        rig.Give(0, AxisCommandKind.Move, 100);
        rig.Run(400);

        // Writes and further looks of one axis never push the other one out of its cycle.
        var reads = rig.Frames.Where(frame => frame is { Unit: 2, Function: 3 }).Select(frame => frame.At).ToArray();
        Assert.All(reads.Zip(reads.Skip(1)), pair => Assert.True(pair.Second - pair.First < TimeSpan.FromMilliseconds(62), $"{pair.Second - pair.First}"));
    }

    [Fact]
    public void SilentDrive_IsAskedEverMoreSeldom()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"), Parts.Axis("b", 2)));
        rig.Meet();
        rig.Fate = (unit, _) => unit == 2 ? -1 : 0;
        rig.Run(500);
        Assert.False(rig.Axis(1).Online);
        Assert.Equal(FaultCode.LinkLost, rig.Axis(1).Fault);
        rig.Run(4000);
        rig.Frames.Clear();
        rig.Run(10_000);
        Assert.InRange(rig.Frames.Count(frame => frame.Unit == 2), 8, 12);
        Assert.InRange(rig.Frames.Count(frame => frame is { Unit: 1, Function: 3 } && frame.Frame[3] == 0), 235, 251);

        // It is met again by its stop as soon as it answers.
        rig.Fate = null;
        rig.Frames.Clear();
        rig.RunUntil(() => rig.Axis(1).Online, "met again", 3000);
        Assert.Equal(16, rig.Frames.First(frame => frame.Unit == 2).Function);
    }

    [Fact]
    public void LostReplies_AreRepeatedAsOftenAsThePortSays()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")) with { Ports = [Parts.Port with { Cycle = TimeSpan.FromMilliseconds(100), Retries = 2 }] });
        rig.Meet();
        var lost = 0;
        rig.Fate = (_, function) => function == 3 && lost++ < 2 ? -1 : 0;
        rig.RunUntil(() => lost > 2, "asked a third time");
        var asked = rig.Frames[^3..];
        Assert.True(asked[2].At - asked[0].At < TimeSpan.FromMilliseconds(100), "the repeats left the cycle");
        Assert.True(rig.Axis(0).Online);
    }

    [Fact]
    public void LateReply_IsGivenItsTimeBeforeTheSameIsAskedAgain()
    {
        // The rig asserts that nothing is sent before the master allows it; here that this is later than at once.
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        rig.Meet();
        var lost = 0;
        rig.Fate = (_, function) => function == 3 && lost++ == 0 ? -1 : 0;
        rig.RunUntil(() => lost > 1, "asked again");
        Assert.True(rig.Frames[^1].At - rig.Frames[^2].At >= rig.Board.Machine.Ports[0].ResponseTimeout);
        Assert.Equal(rig.Frames[^2].Frame, rig.Frames[^1].Frame);
    }

    [Fact]
    public void BusyDrive_IsAskedAgainWithoutAFault()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        PortStepperStopTests.Enabled(rig);
        var busy = 0;
        rig.Fate = (_, _) => ++busy % 3 != 0 ? 6 : 0;
        rig.Run(2000);
        Assert.Empty(rig.Faults());
        Assert.Equal(AxisState.Ready, rig.Axis(0).State);
    }

    [Fact]
    public void ReadsRefusedForGood_AreAFaultAndThenALostLink()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"), Parts.Axis("b", 2)));
        PortStepperStopTests.Enabled(rig);
        rig.Fate = (unit, function) => unit == 1 && function == 3 ? 2 : 0;
        rig.Run(1000);
        Assert.False(rig.Axis(0).Online);
        Assert.Equal(FaultCode.RequestRejected, rig.Faults()[0].Code);
        Assert.Equal(AxisState.Ready, rig.Axis(1).State);
        Assert.Equal((ushort)2, rig.Drives[0][64]);
    }

    [Fact]
    public void OtherDrive_AfterALostLink_IsAFaultThatNobodyRecovers()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        PortStepperStopTests.Enabled(rig);
        rig.Fate = (_, _) => -1;
        rig.Run(500);
        Assert.Equal(FaultCode.LinkLost, rig.Axis(0).Fault);
        rig.Drives[0].Serial = 4712;
        rig.Fate = null;
        rig.RunUntil(() => rig.Axis(0).Online, "met again");
        Assert.Equal(FaultCode.WrongIdentity, rig.Axis(0).Fault);
        Assert.False(FaultCatalogue.MayRecover(rig.Axis(0).Fault));
        Assert.Equal([FaultCode.LinkLost, FaultCode.WrongIdentity], rig.Faults().Select(fault => fault.Code));
        Assert.False(rig.Axis(0).Referenced);
    }

    [Fact]
    public void LoadThatSinksOnItsBrake_IsAFault()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a") with { GravityLoaded = true, Brake = new BrakeDefinition(TimeSpan.Zero, TimeSpan.FromMilliseconds(60)) }));
        rig.Meet();
        rig.Run(1000);
        rig.Drives[0].Velocity = -1500;
        rig.RunUntil(() => rig.Axis(0).State == AxisState.Faulted, "sinking seen", 3000);
        Assert.Equal(FaultCode.BrakeSlip, rig.Axis(0).Fault);
    }

    [Fact]
    public void LoadThatSinksOnItsBrake_AfterALostLink_TakesTheLostLinksPlace()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a") with { GravityLoaded = true }));
        rig.Meet();
        rig.Fate = (_, _) => -1;
        rig.Run(500);
        rig.Fate = null;
        rig.RunUntil(() => rig.Axis(0) is { Online: true, Detail: AxisDetail.None }, "met again");
        rig.Run(500);
        Assert.Equal(FaultCode.LinkLost, rig.Axis(0).Fault);
        rig.Drives[0].Velocity = -1500;
        rig.RunUntil(() => rig.Axis(0).Fault == FaultCode.BrakeSlip, "sinking seen", 3000);
        Assert.False(FaultCatalogue.MayRecover(rig.Axis(0).Fault));
    }

    [Fact]
    public void AxisWithoutABrake_MayBePushedWhileItIsOff()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        rig.Meet();
        rig.Drives[0].Velocity = 20_000;
        rig.Run(2000);
        Assert.Equal(AxisState.Disabled, rig.Axis(0).State);
    }

    [Fact]
    public void Outputs_StayOverALostLink_AndAreLowAfterARestart()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        rig.Meet();
        Assert.Equal(0, rig.Drives[0][70]);
        rig.Give(0, AxisCommandKind.SetOutput, 0, 1);
        rig.Run(100);
        Assert.Equal(1, rig.Drives[0][70]);

        rig.Fate = (_, _) => -1;
        rig.Run(500);
        rig.Fate = null;
        rig.RunUntil(() => rig.Axis(0).Online, "met again");
        rig.Run(200);
        Assert.Equal(1, rig.Drives[0][70]);

        rig.Fate = (_, _) => -1;
        rig.Run(3000);
        rig.Drives[0][70] = 0;
        rig.Drives[0].BootedAt = rig.Now;
        rig.Drives[0].Writes.Clear();
        rig.Fate = null;
        rig.RunUntil(() => rig.Axis(0).Online, "met after a restart");
        rig.Run(200);
        Assert.DoesNotContain((70, (ushort)1), rig.Drives[0].Writes);
        Assert.Equal(FaultCode.LinkLost, rig.Axis(0).Fault);
    }

    [Fact]
    public void PowerBit_AfterARestart_IsNotLeftStanding()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a", 1, Parts.Bits())));
        rig.Drives[0].Statusword = 0;
        rig.RunUntil(() => rig.Axis(0).Online, "met");
        rig.Board.Latch.Reset(StopCauses.ShutDown, 0);
        rig.Run(300);
        rig.Give(0, AxisCommandKind.Enable);
        rig.RunUntil(() => (rig.Drives[0][64] & 1) != 0, "power given");
        rig.Drives[0].Statusword = 1;
        rig.RunUntil(() => rig.Axis(0).State == AxisState.Ready, "enabled");
        rig.Fate = (_, _) => -1;
        rig.Run(2000);
        rig.Drives[0].Statusword = 0;
        rig.Drives[0].BootedAt = rig.Now;
        rig.Drives[0][64] = 0;
        rig.Drives[0].Writes.Clear();
        rig.Fate = null;
        rig.RunUntil(() => rig.Axis(0).Online, "met after its restart");
        rig.Run(500);
        Assert.NotEmpty(rig.Drives[0].Writes);
        Assert.DoesNotContain(rig.Drives[0].Writes, write => write.Register == 64 && (write.Value & 1) != 0);
    }

    [Fact]
    public void Open_ThatFails_IsTriedEverMoreSeldom()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"))) { CanOpen = false };
        rig.Run(10_000);
        Assert.InRange(rig.Opens, 10, 16);
        Assert.False(rig.Board.Ports[0].Port.Read().Open);
        rig.CanOpen = true;
        rig.Meet();
        Assert.True(rig.Board.Ports[0].Port.Read().Open);
    }

    [Fact]
    public void Open_ThatIsGoneAgainAtOnce_IsTriedEverMoreSeldomUntilSomethingAnswers()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"))) { Fate = (_, _) => -2 };
        rig.Run(10_000);
        Assert.InRange(rig.Opens, 10, 16);

        // One that answered is tried again soon when it is gone.
        rig.Fate = null;
        rig.Meet();
        rig.Fate = (_, _) => -2;
        rig.RunUntil(() => !rig.Board.Ports[0].Port.Read().Open, "gone");
        rig.Fate = null;
        rig.RunUntil(() => rig.Board.Ports[0].Port.Read().Open, "open again", 110);
    }

    [Fact]
    public void Open_ThatTakesItsTime_IsAskedForOnceWhileTheStepperGoesOn()
    {
        var board = new MachineBoard(Parts.Machine(Parts.Axis("a")));
        var stepper = new PortStepper(board, 0);
        var now = TimeSpan.FromSeconds(10);
        Assert.Equal(PortStepKind.Open, stepper.Next(now).Kind);
        for (var i = 0; i < 10_000; i++)
        {
            var step = stepper.Next(now);
            Assert.Equal(PortStepKind.Wait, step.Kind);
            Assert.InRange(step.Until - now, TimeSpan.FromTicks(1), TimeSpan.FromMilliseconds(2));
            Assert.Equal(now, board.Ports[0].Port.Read().At);
            now = step.Until;
        }

        stepper.Opened(false, now);
        Assert.Equal(PortStepKind.Wait, stepper.Next(now).Kind);
        Assert.Equal(PortStepKind.Open, stepper.Next(now + TimeSpan.FromMilliseconds(100)).Kind);
        stepper.Opened(true, now + TimeSpan.FromMilliseconds(110));
        Assert.Equal(PortStepKind.Transact, stepper.Next(now + TimeSpan.FromMilliseconds(110)).Kind);
    }

    [Fact]
    public void LinkGone_ClosesReopensAndMeetsByTheStop()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"), Parts.Axis("b", 2)));
        PortStepperStopTests.Enabled(rig);
        var opens = rig.Opens;
        rig.Fate = (_, _) => -2;
        rig.RunUntil(() => !rig.Board.Ports[0].Port.Read().Open, "closed");
        Assert.Equal(FaultCode.LinkLost, rig.Axis(0).Fault);
        Assert.Equal(FaultCode.LinkLost, rig.Axis(1).Fault);
        rig.Fate = null;
        rig.Frames.Clear();
        rig.RunUntil(() => rig.Axis(0).Online && rig.Axis(1).Online, "met again");
        Assert.Equal(opens + 1, rig.Opens);
        Assert.All(new byte[] { 1, 2 }, unit => Assert.Equal(16, rig.Frames.First(frame => frame.Unit == unit).Function));
        Assert.All(rig.Frames.Where(frame => frame.Function == 16 && frame.Frame[3] == 64), frame => Assert.Equal(2, frame.Frame[8] & 0x0F));
    }

    [Fact]
    public void ParameterThatDoesNotTakeItsValue_IsAFaultAndNothingMoves()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a")));
        rig.Drives[0].Stubborn = 128;
        rig.RunUntil(() => rig.Axis(0).State == AxisState.Faulted, "rejected");
        Assert.Equal(FaultCode.RequestRejected, rig.Axis(0).Fault);
        rig.Run(3000);
        Assert.False(rig.Axis(0).Online);
        var enable = rig.Give(0, AxisCommandKind.Enable);
        rig.Run(50);
        Assert.Equal(Outcome.Refused, rig.EndOf(enable));
        rig.Drives[0].Stubborn = -1;
        rig.RunUntil(() => rig.Axis(0).Online, "met at last");
        Assert.Equal(250, rig.Drives[0][128]);
    }

    [Fact]
    public void Commands_ToAnAbsentAxis_AreRefused()
    {
        var rig = new StepperRig(Parts.Machine(Parts.Axis("a"))) { Fate = (_, _) => -1 };
        rig.Run(200);
        var output = rig.Give(0, AxisCommandKind.SetOutput, 0, 1);
        var enable = rig.Give(0, AxisCommandKind.Enable);
        rig.Run(50);
        Assert.All(new[] { output, enable }, id => Assert.Equal(Refusal.AxisOffline, rig.Reports().Single(report => report.CommandId == id).Refusal));
    }
}
