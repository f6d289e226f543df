using Supervisor.Configuration.Machines;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Stops;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Interlocks;

public sealed class InterlockTests
{
    [Fact]
    public void Start_EmergencyStopAndGuardsWaitForTheirReset_ProcessConditionsDoNot()
    {
        var rig = new MachineRig();
        rig.Run(50);
        var status = rig.Control.Status();
        Assert.False(status.MotionPermitted);
        Assert.Equal([true, true, false], status.Interlocks.Select(interlock => interlock.NeedsReset));
        Assert.Equal([false, false, false], status.Interlocks.Select(interlock => interlock.Open));
        Assert.Contains("tray.input3", status.Interlocks[EmergencyStop].WhatToDo, StringComparison.Ordinal);
        Assert.Equal("", status.Interlocks[Vacuum].WhatToDo);

        rig.PressReset(150);
        Assert.True(rig.Control.Status().MotionPermitted);
    }

    [Fact]
    public void Start_InputsNotReadYet_CountAsOpenButLatchNoProcessCondition()
    {
        var rig = new MachineRig();
        rig.Axis(Drum).Now.Online = false;
        rig.Run(2000);
        Assert.True(rig.Interlock(Vacuum).Open);
        Assert.False(rig.Interlock(Vacuum).NeedsReset);
        Assert.Equal(["drum.input1 (silent)"], rig.Interlock(Vacuum).OpenInputs);
        Assert.Contains("vacuum", rig.Control.Status().Axes[Drum].InhibitedBy);
        Assert.False(rig.Control.Status().MotionPermitted);

        rig.Axis(Drum).Now.Online = true;
        rig.Step(2);
        Assert.Equal((false, false), (rig.Interlock(Vacuum).Open, rig.Interlock(Vacuum).NeedsReset));
    }

    [Fact]
    public void Open_TripsTheLatchWhenNoPortHas_AndIsJournalledOncePerChange()
    {
        var rig = MachineRig.Ready();
        rig.SetAndSee("gantry.input1", false);
        rig.Run(500);
        Assert.True(rig.Board.Latch.IsStanding(StopCauses.Interlock(Guard)));
        Assert.Equal(1, rig.Board.Latch.TripCount(StopCauses.Interlock(Guard)) - 1);
        Assert.Equal(["front guard"], rig.Control.Status().Axes[Gantry].InhibitedBy);
        Assert.Empty(rig.Control.Status().Axes[Drum].InhibitedBy);

        rig.SetAndSee("gantry.input1", true);
        rig.PressReset(150);
        Assert.Equal([InterlockChange.Opened, InterlockChange.Closed, InterlockChange.Reset], rig.Journal.ChangesOf(Guard));
        Assert.Equal("tray.input3", rig.Journal.Interlocks[^1].Inputs);
    }

    [Fact]
    public void Open_AgainBeforeItsReset_IsJournalledAgain()
    {
        var rig = MachineRig.Ready();
        for (var i = 0; i < 2; i++)
        {
            rig.SetAndSee("gantry.input1", false);
            rig.SetAndSee("gantry.input1", true);
        }

        Assert.Equal([InterlockChange.Opened, InterlockChange.Closed, InterlockChange.Opened, InterlockChange.Closed], rig.Journal.ChangesOf(Guard));
    }

    [Fact]
    public void TripByAPort_WhoseInputClosedAgainUnseen_NeedsItsResetAndIsJournalled()
    {
        var rig = MachineRig.Ready();
        rig.Board.Latch.Trip(StopCauses.Interlock(Guard));
        rig.Step();
        Assert.True(rig.Interlock(Guard).NeedsReset);
        Assert.Equal([InterlockChange.Opened, InterlockChange.Closed], rig.Journal.ChangesOf(Guard));
    }

    [Fact]
    public void Reset_OnlyPermits_NothingMovesOrIsEnergised()
    {
        var rig = MachineRig.Ready();
        rig.SetAndSee("gantry.input1", false);
        rig.SetAndSee("gantry.input1", true);
        rig.PressReset(150);
        rig.Run(2000);
        Assert.Equal((AxisState.Disabled, AxisState.Disabled), (rig.Axis(Gantry).Now.State, rig.Axis(Dibber).Now.State));
        Assert.Empty(rig.Axis(Gantry).Taken);
    }

    [Fact]
    public void Stale_CountsAsOpen_EvenWhenThePortsThreadIsDead()
    {
        var rig = MachineRig.Ready();
        rig.Ports[0].Steps = false;
        rig.Run(240);
        Assert.False(rig.Interlock(EmergencyStop).Open);
        rig.Run(20);
        Assert.True(rig.Interlock(EmergencyStop).Open);
        Assert.True(rig.Board.Latch.IsStanding(StopCauses.Interlock(EmergencyStop)));
        Assert.Equal(["tray.input1 (silent)", "tray.input2 (silent)"], rig.Interlock(EmergencyStop).OpenInputs);
        rig.Run(1000);
        Assert.Equal((false, false), (rig.Control.Status().Axes[Tray].Online, rig.Control.Status().Ports[0].Open));
        Assert.Equal((true, true), (rig.Control.Status().Axes[Drum].Online, rig.Control.Status().Ports[1].Open));

        rig.Ports[0].Steps = true;
        rig.Step(2);
        Assert.Equal((false, true), (rig.Interlock(EmergencyStop).Open, rig.Interlock(EmergencyStop).NeedsReset));
    }

    [Fact]
    public void TripDelay_OfAProcessCondition_BridgesAShortOpening()
    {
        var rig = MachineRig.Ready();
        rig.Set("drum.input1", false);
        rig.Run(480);
        Assert.True(rig.Interlock(Vacuum).Open);
        rig.SetAndSee("drum.input1", true);
        Assert.False(rig.Board.Latch.IsStanding(StopCauses.Interlock(Vacuum)));
        Assert.Empty(rig.Journal.Interlocks);

        rig.Set("drum.input1", false);
        rig.Run(520);
        Assert.True(rig.Board.Latch.IsStanding(StopCauses.Interlock(Vacuum)));
        Assert.Equal([InterlockChange.Opened], rig.Journal.ChangesOf(Vacuum));
    }

    [Fact]
    public void FileInput_IsReadThroughTheReader_AndGrowsStaleWhenUnreadable()
    {
        bool? level = true;
        var machine = Seeder(interlocks: all => [all[0], all[1],
            all[2] with { Inputs = [new InputReference("file:/run/vacuum", InputSource.File, -1, null, "/run/vacuum")], TripDelay = TimeSpan.Zero }]);
        var paths = new List<string>();
        var rig = new MachineRig(machine, path =>
        {
            paths.Add(path);
            return level;
        });
        rig.Run(1000);
        Assert.All(paths, path => Assert.Equal("/run/vacuum", path));
        Assert.InRange(paths.Count, 18, 22);
        Assert.Equal((false, false), (rig.Interlock(Vacuum).Open, rig.Interlock(Vacuum).NeedsReset));

        level = null;
        rig.Run(350);
        Assert.Equal((true, true), (rig.Interlock(Vacuum).Open, rig.Interlock(Vacuum).NeedsReset));
        Assert.Equal(["file:/run/vacuum (silent)"], rig.Interlock(Vacuum).OpenInputs);
    }

    [Theory]
    [InlineData("1", true)]
    [InlineData("0\n", false)]
    [InlineData("", null)]
    [InlineData("x", null)]
    public void InputFile_ReadsOneCharacter(string content, bool? expected)
    {
        var path = Path.Combine(Path.GetTempPath(), Path.GetRandomFileName());
        try
        {
            File.WriteAllText(path, content);
            Assert.Equal(expected, Machine.Interlocks.InputFile.Read(path));
        }
        finally
        {
            File.Delete(path);
        }

        Assert.Null(Machine.Interlocks.InputFile.Read(path));
    }

    [Fact]
    public void Move_BetweenAnInterlocksTripAndItsReset_EndsReplacedWithItsName()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Gantry).StepsPerCommand = int.MaxValue;
        var move = rig.Submit(new Api.MoveCommand([new(Gantry, 10, false)], null));
        rig.Step(3);
        rig.SetAndSee("gantry.input1", false);
        rig.Step(3);
        var answer = MachineRig.Answer(move);
        Assert.Equal((Outcome.Replaced, Refusal.InterlockTripped), (answer.Outcome, answer.Refusal));
        Assert.Contains("front guard", answer.Message, StringComparison.Ordinal);
    }
}
