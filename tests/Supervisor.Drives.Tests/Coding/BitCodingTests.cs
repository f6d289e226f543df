using Supervisor.Configuration.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Drives.Tests.Support;

namespace Supervisor.Drives.Tests.Coding;

/// <summary>Drives of single bits (common practice of the trade), each with and without the bits that some lack.</summary>
public sealed class BitCodingTests
{
    private const int Powered = 1;
    private const int InPosition = 2;
    private const int Referenced = 4;
    private const int Fault = 8;
    private const int Moving = 16;
    private const int Power = 1;
    private const int Go = 2;
    private const int Stop = 4;
    private const int Find = 8;
    private const int Clear = 16;

    [Fact]
    public void Energise_PutsPowerAndWaitsForIt()
    {
        var rig = Bits();
        rig.Set("position", 4321);
        rig.Begin(DriveGoal.Energise);
        Assert.Equal((GoalResult.UnderWay, Power), (rig.Look(0), rig.Control));
        Assert.Equal(4321, rig.Wanted("targetPosition"));
        Assert.Equal(GoalResult.UnderWay, rig.Look(0));
        Assert.Equal(GoalResult.Reached, rig.Look(Powered));
    }

    [Fact]
    public void Energise_WithoutAPoweredBit_BelievesThePowerBitOnceItIsWritten()
    {
        var rig = Bits(Definitions.AllStates with { Powered = null });
        Assert.False(rig.Coding.TellsPowered);
        rig.Begin(DriveGoal.Energise);
        Assert.Equal(GoalResult.UnderWay, rig.Look(0));
        Assert.Equal(GoalResult.Reached, rig.Look(0));
        Assert.True(rig.Feedback.Has(DriveFlags.Powered));
    }

    [Fact]
    public void Energise_OfAFaultedDrive_Fails()
    {
        var rig = Bits();
        rig.Begin(DriveGoal.Energise);
        Assert.Equal(GoalResult.Failed, rig.Look(Fault));
    }

    [Fact]
    public void Move_ByARisingBit_GivesTheEdgeAfterTheTargetAndTakesItBack()
    {
        var rig = Enabled();
        rig.Coding.PutTarget(rig.Image, 1000);
        rig.Begin(DriveGoal.Move);
        Assert.Equal(Power, rig.Control);
        rig.Write();
        Assert.Equal(Power | Go, rig.Control);
        Assert.Equal((GoalResult.UnderWay, Power | Go), (rig.Look(Powered | InPosition), rig.Control));
        Assert.Equal((GoalResult.Reached, Power), (rig.Look(Powered | Moving), rig.Control));
    }

    [Fact]
    public void Move_ByALevel_LeavesTheBitUntilTheNextMove()
    {
        var rig = Enabled(commands: Definitions.AllCommands with { Go = new BitReference("command", 1, false) });
        rig.Begin(DriveGoal.Move);
        rig.Write();
        Assert.Equal(GoalResult.Reached, rig.Look(Powered | Moving));
        Assert.Equal(Power | Go, rig.Control);
        rig.Begin(DriveGoal.Hold);
        rig.Look(Powered | InPosition);
        Assert.Equal(Power | Go, rig.Control);
        rig.Begin(DriveGoal.Move);
        Assert.Equal(Power, rig.Control);
        rig.Write();
        Assert.Equal(Power | Go, rig.Control);
        rig.Begin(DriveGoal.Halt);
        Assert.Equal(Power | Stop, rig.Control);
    }

    [Fact]
    public void Move_WithoutAMovingBit_BeginsWhenInPositionGoes()
    {
        var rig = Enabled(Definitions.AllStates with { Moving = null });
        rig.Begin(DriveGoal.Move);
        rig.Write();
        Assert.Equal(GoalResult.UnderWay, rig.Look(Powered | InPosition));
        Assert.Equal(GoalResult.Reached, rig.Look(Powered));
    }

    [Fact]
    public void Move_WithNeitherBit_IsBelievedAfterHalfASecond()
    {
        var rig = Enabled(Definitions.AllStates with { Moving = null, InPosition = null });
        Assert.False(rig.Coding.TellsInPosition);
        rig.Begin(DriveGoal.Move);
        rig.Write();
        Assert.Equal(GoalResult.UnderWay, rig.Look(Powered, 400));
        Assert.Equal(GoalResult.Reached, rig.Look(Powered, 200));
    }

    [Fact]
    public void Halt_SetsTheStopBitUntilTheNextMoveBegins()
    {
        var rig = Enabled();
        Assert.Equal(GoalResult.Reached, rig.Begin(DriveGoal.Halt));
        Assert.Equal(Power | Stop, rig.Control);
        rig.Begin(DriveGoal.Hold);
        rig.Look(Powered);
        Assert.Equal(Power | Stop, rig.Control);
        rig.Begin(DriveGoal.Move);
        Assert.Equal(Power | Stop, rig.Control);
        rig.Write();
        Assert.Equal(Power | Go, rig.Control);
    }

    [Fact]
    public void Halt_WithoutAStopBit_TakesThePower()
    {
        var rig = Enabled(commands: Definitions.AllCommands with { Stop = null });
        rig.Begin(DriveGoal.Halt);
        Assert.Equal(0, rig.Control);
    }

    [Fact]
    public void Halt_InTheMiddleOfAStart_TakesTheEdgeBack()
    {
        var rig = Enabled();
        rig.Begin(DriveGoal.Move);
        rig.Write();
        Assert.Equal(Power | Go, rig.Control);
        rig.Begin(DriveGoal.QuickStop);
        Assert.Equal(Power | Stop, rig.Control);
        rig.Begin(DriveGoal.Home);
        rig.Write();
        Assert.Equal(Power | Find, rig.Control);
    }

    [Fact]
    public void Home_IsDoneWhenReferencedAndStill()
    {
        var rig = Enabled();
        rig.Begin(DriveGoal.Home);
        rig.Write();
        Assert.Equal(Power | Find, rig.Control);

        // "Referenced" of an earlier homing is no sign, and neither is it while the axis still moves.
        Assert.Equal(GoalResult.UnderWay, rig.Look(Powered | Referenced));
        Assert.Equal(GoalResult.UnderWay, rig.Look(Powered | Moving));
        Assert.Equal(GoalResult.UnderWay, rig.Look(Powered | Moving | Referenced));
        rig.Set("position", -5);
        Assert.Equal(GoalResult.Reached, rig.Look(Powered | Referenced));
        Assert.Equal((Power, -5), (rig.Control, rig.Wanted("targetPosition")));
    }

    [Fact]
    public void ClearFault_GivesARisingEdgeWithThePowerLow()
    {
        var rig = Enabled();
        rig.Look(Fault);
        rig.Begin(DriveGoal.ClearFault);
        Assert.Equal(0, rig.Control);
        Assert.Equal((GoalResult.UnderWay, Clear), (rig.Look(Fault), rig.Control));
        Assert.Equal((GoalResult.Reached, 0), (rig.Look(0), rig.Control));
    }

    [Fact]
    public void ClearFault_ThatDoesNotHelp_GivesTheEdgeAgain()
    {
        var rig = Bits();
        rig.Look(Fault);
        rig.Begin(DriveGoal.ClearFault);
        var edges = 0;
        var before = 0;
        for (var i = 0; i < 100; i++)
        {
            rig.Look(Fault);
            edges += before == 0 && rig.Control == Clear ? 1 : 0;
            before = rig.Control;
        }

        Assert.InRange(edges, 2, 4);
    }

    [Fact]
    public void CutPower_SetsStopAndTakesPowerInOneWord()
    {
        var rig = Enabled();
        Assert.Equal(GoalResult.UnderWay, rig.Begin(DriveGoal.CutPower));
        Assert.Equal(Stop, rig.Control);
        Assert.Equal(GoalResult.Reached, rig.Look(0));
    }

    [Fact]
    public void PowerOff_IsReachedWhenTheDriveSaysSo()
    {
        var rig = Enabled();
        rig.Begin(DriveGoal.PowerOff);
        Assert.Equal(0, rig.Control);
        Assert.Equal(GoalResult.UnderWay, rig.Look(Powered));
        Assert.Equal(GoalResult.Reached, rig.Look(0));
    }

    [Fact]
    public void DropPower_TakesNothingButThePower()
    {
        var rig = Enabled();
        rig.Begin(DriveGoal.Halt);
        rig.Coding.DropPower(rig.Image);
        Assert.Equal(Stop, rig.Control);
    }

    [Fact]
    public void StopBit_InTheHighWordOfAWideField_IsTheRegisterThatStops()
    {
        var commands = new CommandBits(new("command", 0, false), new("command", 1, true), new("command", 20, false), null, null);
        var drive = Definitions.Bits(commands: commands) with
        {
            Command = [Definitions.Field("targetPosition", 60, RegisterType.S32), Definitions.Field("command", 64, RegisterType.U32)],
        };
        Assert.Equal(2, new CodingRig(drive).Coding.ControlOffset);
        Assert.Equal(3, new CodingRig(drive with { Wire = drive.Wire with { WordOrder = WordOrder.LowFirst } }).Coding.ControlOffset);
    }

    private static CodingRig Bits(StateBits? states = null, CommandBits? commands = null) => new(Definitions.Bits(states, commands));

    private static CodingRig Enabled(StateBits? states = null, CommandBits? commands = null)
    {
        var rig = Bits(states, commands);
        rig.Begin(DriveGoal.Energise);
        rig.Look(Powered);
        Assert.Equal(GoalResult.Reached, rig.Look(Powered));
        return rig;
    }
}
