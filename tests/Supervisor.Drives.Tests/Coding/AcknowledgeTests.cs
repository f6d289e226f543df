using Supervisor.Configuration.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Drives.Tests.Support;

namespace Supervisor.Drives.Tests.Coding;

/// <summary>Drives that acknowledge the edge of a command bit (common practice of the trade: a handshake of request and answer, each taken back in turn).</summary>
public sealed class AcknowledgeTests
{
    private const int Powered = 1;
    private const int Referenced = 4;
    private const int Fault = 8;
    private const int Moving = 16;
    private const int GoTaken = 32;
    private const int FindTaken = 64;
    private const int ClearTaken = 128;
    private const int Power = 1;
    private const int Go = 2;
    private const int Stop = 4;
    private const int Find = 8;
    private const int Clear = 16;

    [Fact]
    public void Move_UntilTheDriveAcknowledges_KeepsItsBitThoughTheDriveMoves()
    {
        var rig = Enabled();
        rig.Begin(DriveGoal.Move);
        rig.Look(Powered);
        Assert.Equal((GoalResult.UnderWay, Power | Go), (rig.Look(Powered), rig.Control));
        Assert.Equal((GoalResult.UnderWay, Power | Go), (rig.Look(Powered | Moving), rig.Control));
        Assert.Equal((GoalResult.UnderWay, Power), (rig.Look(Powered | Moving | GoTaken), rig.Control));
        Assert.Equal(GoalResult.Reached, rig.Look(Powered | Moving | GoTaken));
    }

    [Fact]
    public void Move_WhileTheLastAcknowledgementStands_WaitsForItToGo()
    {
        var rig = Enabled();
        rig.Look(Powered | GoTaken);
        rig.Begin(DriveGoal.Move);
        Assert.Equal((GoalResult.UnderWay, Power), (rig.Look(Powered | GoTaken), rig.Control));
        Assert.Equal((GoalResult.UnderWay, Power), (rig.Look(Powered | GoTaken), rig.Control));
        Assert.Equal((GoalResult.UnderWay, Power | Go), (rig.Look(Powered), rig.Control));
    }

    [Theory]
    [InlineData(DriveGoal.Move, Powered)]
    [InlineData(DriveGoal.Home, Powered)]
    [InlineData(DriveGoal.Move, Powered | GoTaken)]
    [InlineData(DriveGoal.Home, Powered | FindTaken)]
    public void Start_WhoseHandshakeDoesNotComplete_FailsWithTheBitTakenBack(DriveGoal goal, int told)
    {
        var rig = Enabled();
        rig.Begin(goal);
        rig.Look(told);
        Assert.Equal(GoalResult.UnderWay, rig.Look(told));
        Assert.Equal((GoalResult.Failed, Power), (rig.Look(told, 2100), rig.Control));
        Assert.Equal((GoalResult.Failed, Power), (rig.Look(Powered), rig.Control));
    }

    [Fact]
    public void Halt_BeforeTheAcknowledgement_TakesTheBitBackAtOnce()
    {
        var rig = Enabled();
        rig.Begin(DriveGoal.Move);
        rig.Look(Powered);
        Assert.Equal(Power | Go, rig.Control);
        Assert.Equal((GoalResult.Reached, Power | Stop), (rig.Begin(DriveGoal.Halt), rig.Control));
    }

    [Fact]
    public void Home_Acknowledged_IsNotDoneByAReferenceOfBefore()
    {
        var rig = Enabled();
        rig.Begin(DriveGoal.Home);
        rig.Look(Powered | Referenced);
        Assert.Equal(Power | Find, rig.Control);
        Assert.Equal((GoalResult.UnderWay, Power), (rig.Look(Powered | Referenced | FindTaken), rig.Control));
        Assert.Equal(GoalResult.UnderWay, rig.Look(Powered | Referenced));
        Assert.Equal(GoalResult.UnderWay, rig.Look(Powered | Moving));
        Assert.Equal(GoalResult.Reached, rig.Look(Powered | Referenced));
    }

    [Fact]
    public void ClearFault_ClearedBeforeTheAcknowledgement_KeepsTheBitUntilIt()
    {
        var rig = Enabled();
        rig.Look(Fault);
        rig.Begin(DriveGoal.ClearFault);
        Assert.Equal((GoalResult.UnderWay, Clear), (rig.Look(Fault), rig.Control));
        Assert.Equal((GoalResult.UnderWay, Clear), (rig.Look(0), rig.Control));
        Assert.Equal((GoalResult.Reached, 0), (rig.Look(ClearTaken), rig.Control));
    }

    [Fact]
    public void ClearFault_AcknowledgedWithoutHelp_GivesTheEdgeAgainOnceTheAcknowledgementIsGone()
    {
        var rig = Enabled();
        rig.Look(Fault);
        rig.Begin(DriveGoal.ClearFault);
        rig.Look(Fault);
        Assert.Equal((GoalResult.UnderWay, 0), (rig.Look(Fault | ClearTaken), rig.Control));
        rig.Look(Fault | ClearTaken, 400);
        Assert.Equal(0, rig.Control);
        rig.Look(Fault | ClearTaken);
        rig.Look(Fault | ClearTaken);
        Assert.Equal(0, rig.Control);
        rig.Look(Fault);
        Assert.Equal(Clear, rig.Control);
    }

    private static CodingRig Enabled()
    {
        var rig = new CodingRig(Definitions.Bits() with
        {
            Acknowledges = new AcknowledgeBits(new("status", 5, false), new("status", 6, false), new("status", 7, false)),
        });
        rig.Begin(DriveGoal.Energise);
        rig.Look(Powered);
        Assert.Equal(GoalResult.Reached, rig.Look(Powered));
        return rig;
    }
}
