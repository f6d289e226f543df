using Supervisor.Drives.Coding;
using Supervisor.Drives.Tests.Support;

namespace Supervisor.Drives.Tests.Coding;

/// <summary>
/// CiA 402 (IEC 61800-7-201) as the supervisor speaks it. The standard itself was not at hand: values marked [2] are read in the tables of
/// general-purpose open-source stacks, values marked [M] are values from memory.
/// </summary>
public sealed class Cia402CodingTests
{
    private const int OperationEnabled = 0x0237;
    private const int SwitchOnDisabled = 0x0250;
    private const int TargetReached = 0x0400;
    private const int Bit12 = 0x1000;
    private const int HomingError = 0x2000;

    /// <summary>Statusword 6041h: masks 4F and 6F of the state table [2].</summary>
    [Theory]
    [InlineData(0x4F, 0x00, Cia402State.NotReadyToSwitchOn)]
    [InlineData(0x4F, 0x40, Cia402State.SwitchOnDisabled)]
    [InlineData(0x6F, 0x21, Cia402State.ReadyToSwitchOn)]
    [InlineData(0x6F, 0x23, Cia402State.SwitchedOn)]
    [InlineData(0x6F, 0x27, Cia402State.OperationEnabled)]
    [InlineData(0x6F, 0x07, Cia402State.QuickStopActive)]
    [InlineData(0x4F, 0x0F, Cia402State.FaultReactionActive)]
    [InlineData(0x4F, 0x08, Cia402State.Fault)]
    public void Statusword_MatchingAMask_IsThatStateWhateverTheOtherBits(int mask, int value, Cia402State expected)
    {
        for (var others = 0; others <= 0xFFFF; others++)
        {
            Assert.Equal(expected, Cia402.State((ushort)((others & ~mask) | value)));
        }
    }

    [Fact]
    public void Statusword_OfNoState_IsNeverTakenForTorque()
    {
        int[][] table = [[0x4F, 0x00], [0x4F, 0x40], [0x6F, 0x21], [0x6F, 0x23], [0x6F, 0x27], [0x6F, 0x07], [0x4F, 0x0F], [0x4F, 0x08]];
        for (var word = 0; word <= 0xFFFF; word++)
        {
            if (!table.Any(row => (word & row[0]) == row[1]))
            {
                Assert.Equal(Cia402State.NotReadyToSwitchOn, Cia402.State((ushort)word));
            }
        }
    }

    /// <summary>Controlword 6040h [2]; halt bit 8, bits 4 to 6 by mode [2]; modes of 6060h [2].</summary>
    [Fact]
    public void Controlwords_AreTheTables()
    {
        Assert.Equal((0x06, 0x07, 0x0F, 0x07), (Cia402.Shutdown, Cia402.SwitchOn, Cia402.EnableOperation, Cia402.DisableOperation));
        Assert.Equal((0x00, 0x02, 0x80), (Cia402.DisableVoltage, Cia402.QuickStop, Cia402.FaultReset));
        Assert.Equal((1 << 4, 1 << 5, 1 << 8), (Cia402.Start, Cia402.ChangeImmediately, Cia402.Halt));
        Assert.Equal((1 << 10, 1 << 12, 1 << 13), (Cia402.TargetReached, Cia402.SetpointAcknowledged, Cia402.HomingError));
        Assert.Equal((1, 6), (Cia402.ProfilePosition, Cia402.Homing));
    }

    /// <summary>Transitions 2 (shutdown), 3 (switch on), 4 (enable operation) [2], each only after the state before was seen.</summary>
    [Fact]
    public void Energise_GoesThroughTheTransitions()
    {
        var rig = Words();
        rig.Set("position", -123_456);
        rig.Set("modeDisplay", 1);
        rig.Begin(DriveGoal.Energise);
        Assert.Equal((GoalResult.UnderWay, 0x06), (rig.Look(SwitchOnDisabled), rig.Control));
        Assert.Equal((GoalResult.UnderWay, 0x06), (rig.Look(SwitchOnDisabled), rig.Control));
        Assert.Equal((GoalResult.UnderWay, 0x07), (rig.Look(0x0231), rig.Control));
        Assert.Equal((GoalResult.UnderWay, 0x0F), (rig.Look(0x0233), rig.Control));
        Assert.Equal(-123_456, rig.Wanted("targetPosition"));
        Assert.Equal((GoalResult.Reached, 0x0F), (rig.Look(OperationEnabled), rig.Control));
    }

    [Fact]
    public void Energise_WithoutTheModeConfirmed_IsNotReached()
    {
        var rig = Words();
        rig.Begin(DriveGoal.Energise);
        rig.Look(OperationEnabled);
        rig.Set("modeDisplay", 6);
        Assert.Equal(GoalResult.UnderWay, rig.Look(OperationEnabled));
        rig.Set("modeDisplay", 1);
        Assert.Equal(GoalResult.Reached, rig.Look(OperationEnabled));
    }

    [Theory]
    [InlineData(0x0208)]
    [InlineData(0x020F)]
    public void Energise_OfAFaultedDrive_Fails(int statusword)
    {
        var rig = Words();
        rig.Begin(DriveGoal.Energise);
        Assert.Equal(GoalResult.Failed, rig.Look(statusword));
    }

    /// <summary>Profile position [M]: raise bit 4, wait for bit 12 = 1, drop bit 4, wait for bit 12 = 0.</summary>
    [Fact]
    public void Move_GivesTheSetpointHandshake()
    {
        var rig = Enabled();
        rig.Coding.PutMove(rig.Image, 50_000, 1000, 1000, 1000);
        rig.Begin(DriveGoal.Move);
        Assert.Equal(0x2F, rig.Control);
        rig.Write();
        Assert.Equal(0x3F, rig.Control);
        Assert.Equal((GoalResult.UnderWay, 0x3F), (rig.Look(OperationEnabled), rig.Control));
        Assert.Equal((GoalResult.UnderWay, 0x2F), (rig.Look(OperationEnabled | Bit12), rig.Control));
        Assert.Equal((GoalResult.UnderWay, 0x2F), (rig.Look(OperationEnabled | Bit12), rig.Control));
        Assert.Equal((GoalResult.Reached, 0x2F), (rig.Look(OperationEnabled), rig.Control));
    }

    [Fact]
    public void Move_WhileTheLastSetpointIsStillAcknowledged_Waits()
    {
        var rig = Enabled();
        rig.Look(OperationEnabled | Bit12);
        rig.Begin(DriveGoal.Move);
        rig.Write();
        Assert.Equal(0x2F, rig.Control);
        rig.Look(OperationEnabled | Bit12);
        Assert.Equal(0x2F, rig.Control);
        rig.Look(OperationEnabled);
        Assert.Equal(0x3F, rig.Control);
    }

    [Fact]
    public void Move_ReplacedWhileItsBitIsHigh_SeesItLowBeforeItRaisesAnew()
    {
        var rig = Enabled();
        rig.Begin(DriveGoal.Move);
        rig.Write();
        Assert.Equal(0x3F, rig.Control);

        // The drive has not acknowledged yet; a drive that looks now and then would miss an edge between two frames.
        rig.Look(OperationEnabled);
        rig.Begin(DriveGoal.Move);
        rig.Write();
        Assert.Equal(0x2F, rig.Control);
        rig.Look(OperationEnabled | Bit12);
        rig.Look(OperationEnabled | Bit12);
        Assert.Equal(0x2F, rig.Control);
        rig.Look(OperationEnabled);
        rig.Look(OperationEnabled);
        Assert.Equal(0x3F, rig.Control);
    }

    [Fact]
    public void Halt_StaysUntilTheNextSetpointIsRaisedInTheSameWord()
    {
        var rig = Enabled();
        Assert.Equal(GoalResult.Reached, rig.Begin(DriveGoal.Halt));
        Assert.Equal(0x10F, rig.Control);
        rig.Look(OperationEnabled);
        rig.Begin(DriveGoal.Hold);
        rig.Look(OperationEnabled);
        Assert.Equal(0x10F, rig.Control);
        rig.Begin(DriveGoal.Move);
        Assert.Equal(0x12F, rig.Control);
        rig.Write();
        Assert.Equal(0x3F, rig.Control);
    }

    [Fact]
    public void Halt_BeforeAHoming_StaysUntilItsStart()
    {
        var rig = Enabled();
        rig.Begin(DriveGoal.Halt);
        rig.Look(OperationEnabled);
        rig.Begin(DriveGoal.Home);
        Assert.Equal((0x10F, 6), (rig.Control, rig.Wanted("mode")));
        rig.Set("modeDisplay", 6);
        rig.Look(OperationEnabled);
        Assert.Equal(0x1F, rig.Control);
    }

    /// <summary>Homing statusword, mask 3400h [2]: 0000 running, 0400 interrupted, 1000 attained, 1400 done, 2000 error moving, 2400 error stopped.</summary>
    [Theory]
    [InlineData(0x0000, GoalResult.UnderWay)]
    [InlineData(0x0400, GoalResult.UnderWay)]
    [InlineData(0x1000, GoalResult.UnderWay)]
    [InlineData(0x1400, GoalResult.Reached)]
    [InlineData(0x2000, GoalResult.Failed)]
    [InlineData(0x2400, GoalResult.Failed)]
    public void Home_EndsByTheHomingBits(int bits, GoalResult expected)
    {
        var rig = Searching();
        Assert.Equal(expected, rig.Look(OperationEnabled | bits));
    }

    [Fact]
    public void Home_Done_LeavesTheHomingModeStandingWhereItIs()
    {
        var rig = Searching();
        rig.Set("position", 77);
        rig.Look(OperationEnabled | Bit12 | TargetReached);
        Assert.Equal((0x0F, 1, 77), (rig.Control, rig.Wanted("mode"), rig.Wanted("targetPosition")));
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Home_WithTheAttainedBitsOfAnEarlierHoming_IsNotDoneBeforeItRan(bool tellsMode)
    {
        var rig = Enabled(tellsMode);
        rig.Set("modeDisplay", 6);
        rig.Begin(DriveGoal.Home);
        for (var i = 0; i < 30; i++)
        {
            // A slow drive: old bits for 300 ms.
            Assert.Equal(GoalResult.UnderWay, rig.Look(OperationEnabled | Bit12 | TargetReached));
        }

        Assert.Equal(0x1F, rig.Control);
        for (var i = 0; i < 3; i++)
        {
            Assert.Equal(GoalResult.UnderWay, rig.Look(OperationEnabled));
        }

        Assert.Equal(GoalResult.UnderWay, rig.Look(OperationEnabled | Bit12));
        Assert.Equal(GoalResult.Reached, rig.Look(OperationEnabled | Bit12 | TargetReached));
    }

    [Fact]
    public void Home_ThatIsDoneAtOnce_IsBelievedAfterHalfASecond()
    {
        // "Current position" (methods 35 and 37 [2]) never shows a running search.
        var rig = Enabled();
        rig.Set("modeDisplay", 6);
        rig.Begin(DriveGoal.Home);
        var result = GoalResult.UnderWay;
        var looks = 0;
        for (; looks < 100 && result == GoalResult.UnderWay; looks++)
        {
            result = rig.Look(OperationEnabled | Bit12 | TargetReached);
        }

        Assert.Equal(GoalResult.Reached, result);
        Assert.InRange(looks, 50, 60);
    }

    [Fact]
    public void Home_WithTheErrorBitOfAnEarlierHoming_GetsItsChance()
    {
        var rig = Enabled();
        rig.Set("modeDisplay", 6);
        rig.Begin(DriveGoal.Home);
        for (var i = 0; i < 5; i++)
        {
            Assert.Equal(GoalResult.UnderWay, rig.Look(OperationEnabled | HomingError | TargetReached));
        }

        for (var i = 0; i < 3; i++)
        {
            rig.Look(OperationEnabled);
        }

        Assert.Equal(GoalResult.Reached, rig.Look(OperationEnabled | Bit12 | TargetReached));
    }

    [Fact]
    public void Home_WhoseErrorDoesNotGo_Fails()
    {
        var rig = Enabled();
        rig.Set("modeDisplay", 6);
        rig.Begin(DriveGoal.Home);
        var result = GoalResult.UnderWay;
        for (var i = 0; i < 100 && result == GoalResult.UnderWay; i++)
        {
            result = rig.Look(OperationEnabled | HomingError);
        }

        Assert.Equal(GoalResult.Failed, result);
    }

    [Fact]
    public void Home_BeforeTheModeIsConfirmed_DoesNotStart()
    {
        var rig = Enabled();
        rig.Begin(DriveGoal.Home);
        for (var i = 0; i < 10; i++)
        {
            rig.Look(OperationEnabled);
            Assert.Equal(0x0F, rig.Control);
        }
    }

    /// <summary>Fault reset: rising edge of bit 7 [2], so it is low before and low after.</summary>
    [Fact]
    public void ClearFault_GivesARisingEdge()
    {
        var rig = Words();
        rig.Look(0x0208);
        rig.Begin(DriveGoal.ClearFault);
        Assert.Equal(0x00, rig.Control);
        Assert.Equal((GoalResult.UnderWay, 0x80), (rig.Look(0x0208), rig.Control));
        Assert.Equal((GoalResult.UnderWay, 0x80), (rig.Look(0x0208), rig.Control));
        Assert.Equal((GoalResult.Reached, 0x00), (rig.Look(SwitchOnDisabled), rig.Control));
    }

    [Fact]
    public void ClearFault_ThatDoesNotHelp_GivesTheEdgeAgain()
    {
        var rig = Words();
        rig.Look(0x0208);
        rig.Begin(DriveGoal.ClearFault);
        var words = new List<int>();
        for (var i = 0; i < 100; i++)
        {
            Assert.Equal(GoalResult.UnderWay, rig.Look(0x0208));
            words.Add(rig.Control);
        }

        Assert.InRange(words.Zip(words.Skip(1)).Count(pair => pair is { First: 0x00, Second: 0x80 }), 2, 4);
    }

    [Fact]
    public void ClearFault_OfADriveThatHasNone_GivesNoEdge()
    {
        var rig = Words();
        rig.Look(SwitchOnDisabled);
        rig.Begin(DriveGoal.ClearFault);
        Assert.Equal(GoalResult.Reached, rig.Look(SwitchOnDisabled));
        Assert.Equal(0x00, rig.Control);
    }

    /// <summary>Disable operation (transition 5), then disable voltage (7) [2].</summary>
    [Fact]
    public void PowerOff_DisablesOperationFirst()
    {
        var rig = Enabled();
        rig.Begin(DriveGoal.PowerOff);
        Assert.Equal((GoalResult.UnderWay, 0x07), (rig.Look(OperationEnabled), rig.Control));
        Assert.Equal((GoalResult.Reached, 0x00), (rig.Look(0x0233), rig.Control));
    }

    [Fact]
    public void CutPower_DisablesVoltageAtOnce()
    {
        var rig = Enabled();
        Assert.Equal(GoalResult.UnderWay, rig.Begin(DriveGoal.CutPower));
        Assert.Equal(0x00, rig.Control);
        Assert.Equal(GoalResult.UnderWay, rig.Look(OperationEnabled));
        Assert.Equal(GoalResult.Reached, rig.Look(SwitchOnDisabled));
    }

    [Fact]
    public void QuickStop_IsInTheImageBeforeAnythingIsRead()
    {
        var rig = Enabled();
        Assert.Equal(GoalResult.UnderWay, rig.Begin(DriveGoal.QuickStop));
        Assert.Equal(0x02, rig.Control);
        Assert.Equal(GoalResult.UnderWay, rig.Look(OperationEnabled));
        Assert.Equal(GoalResult.Reached, rig.Look(0x0217));
    }

    /// <summary>Bit 10 target reached [2]; bit 12 set-point acknowledge in profile position [M], homing attained in homing [2].</summary>
    [Fact]
    public void Flags_FollowTheStatusword()
    {
        var rig = Enabled();
        rig.Look(OperationEnabled | TargetReached | Bit12);
        Assert.True(rig.Feedback.Has(DriveFlags.Powered | DriveFlags.InPosition | DriveFlags.SetpointTaken));
        Assert.False(rig.Feedback.Has(DriveFlags.Referenced));
        rig.Look(0x0217);
        Assert.True(rig.Feedback.Has(DriveFlags.Powered | DriveFlags.QuickStop));
        rig.Look(0x021F);
        Assert.True(rig.Feedback.Has(DriveFlags.Powered | DriveFlags.Fault));
        rig.Look(0x0218);
        Assert.True(rig.Feedback.Has(DriveFlags.Fault));
        Assert.False(rig.Feedback.Has(DriveFlags.Powered));
    }

    /// <summary>Torque in per mille of rated [2]: scale 0.1 gives percent.</summary>
    [Fact]
    public void Feedback_IsScaledAndSigned()
    {
        var rig = Words();
        rig.Set("torque", -255);
        rig.Set("velocity", -7);
        rig.Set("errorCode", 0x8611);
        rig.Set("digitalInputs", 0x0200);
        rig.Set("position", int.MinValue);
        rig.Look(SwitchOnDisabled);
        Assert.Equal((-25.5, -7.0, (ushort)0x8611, 0b10u, (long)int.MinValue), (rig.Feedback.TorquePercent, rig.Feedback.VelocityCounts, rig.Feedback.ErrorCode, rig.Feedback.Inputs, rig.Feedback.PositionRaw));
        Assert.True(double.IsNaN(rig.Feedback.FollowingErrorCounts));
    }

    [Fact]
    public void Outputs_AreBitsOfTheirOwn()
    {
        var rig = Words();
        rig.Coding.PutOutput(rig.Image, 0, true);
        rig.Coding.PutOutput(rig.Image, 1, true);
        Assert.Equal(0b110, rig.Wanted("digitalOutputs"));
        rig.Coding.PutOutput(rig.Image, 0, false);
        Assert.Equal(0b100, rig.Wanted("digitalOutputs"));
        rig.Coding.ClearOutputs(rig.Image);
        Assert.Equal(0, rig.Wanted("digitalOutputs"));
    }

    private static CodingRig Words(bool tellsMode = true) => new(Definitions.Words(tellsMode));

    private static CodingRig Enabled(bool tellsMode = true)
    {
        var rig = Words(tellsMode);
        rig.Set("modeDisplay", 1);
        rig.Begin(DriveGoal.Energise);
        rig.Look(OperationEnabled);
        Assert.Equal(GoalResult.Reached, rig.Look(OperationEnabled));
        return rig;
    }

    private static CodingRig Searching()
    {
        var rig = Enabled();
        rig.Set("modeDisplay", 6);
        rig.Begin(DriveGoal.Home);
        for (var i = 0; i < 4; i++)
        {
            Assert.Equal(GoalResult.UnderWay, rig.Look(OperationEnabled));
        }

        Assert.Equal(0x1F, rig.Control);
        return rig;
    }
}
