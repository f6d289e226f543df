using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Modules;

/// <summary>A guard on a module's input.</summary>
public sealed class ModuleInputTests
{
    [Fact]
    public void Guard_OpensWhileAnAxisOfAnotherPortMoves_StopsItAndTakesItsTorque()
    {
        var machine = new ModuleMachine();
        machine.StartUp();
        machine.World.Give("right", AxisCommandKind.MoveBy, 400);
        machine.World.Run(0.4);
        Assert.Equal(AxisState.Moving, machine.World.State("right"));

        machine.Module.Inputs[0] = false;

        machine.World.RunUntil(() => machine.IsGuardOpen, 1, "the guard is seen open");
        machine.World.RunUntil(() => machine.World.State("right") == AxisState.Disabled, 3, "stopped in category 1");
        Assert.True(machine.World.Snapshot("right") is { AtRest: true, TorqueOn: false });
        Assert.DoesNotContain(machine.World.Faults, fault => fault.Code == FaultCode.ModuleLost);
    }

    [Fact]
    public void Guard_Closed_StaysClosedForEver()
    {
        var machine = new ModuleMachine();
        machine.StartUp();
        machine.World.Run(20);
        Assert.False(machine.IsGuardOpen);
        Assert.Empty(machine.World.Faults);
    }

    [Fact]
    public void Module_Unplugged_ItsGuardCountsAsOpenAndItIsToldOnce()
    {
        var machine = new ModuleMachine();
        machine.StartUp();

        machine.Module.IsUnplugged = true;

        machine.World.RunUntil(() => machine.IsGuardOpen, 1, "silent is open");
        machine.World.RunUntil(() => machine.World.State("left") == AxisState.Disabled && machine.World.State("right") == AxisState.Disabled, 3, "both off");
        machine.World.Run(30);
        Assert.Equal(1, machine.Told(FaultCode.ModuleLost));
        Assert.False(machine.World.Board.Modules[0].Read().Online);

        machine.Module.IsUnplugged = false;
        machine.World.RunUntil(() => machine.World.Board.Modules[0].Read() is { Online: true, OutputsReady: true, Losses: 1 }, 3, "met again");
        Assert.True(machine.IsGuardOpen);
        machine.World.ResetInterlocks();
        machine.World.Run(5);
        Assert.False(machine.IsGuardOpen);
    }

    [Fact]
    public void Module_NeverThere_IsToldOnceAndCostsItsNeighboursLittle()
    {
        var machine = new ModuleMachine();
        machine.Module.IsUnplugged = true;
        machine.World.RunUntil(() => machine.World.Snapshot("left").Online, 5, "the drive is met all the same");
        machine.World.Run(10);
        Assert.Equal(1, machine.Told(FaultCode.ModuleLost));

        machine.Frames.Clear();
        machine.World.Run(10);

        // 500 cycles of 20 ms; the module is asked about once a second, each time with its repeat.
        Assert.InRange(machine.Frames.Count(frame => frame is { Port: 0, Unit: 1, Function: 3 or 23 }), 480, 1600);
        Assert.InRange(machine.ToModule.Count(), 5, 25);
    }

    [Fact]
    public void Module_RefusesItsInputs_IsToldAsRefusalAndCountsAsOpen()
    {
        var machine = new ModuleMachine();
        machine.StartUp();

        machine.World.Ports[0].Interfere = frame => frame is { Unit: ModuleMachine.Address, Function: 2 } ? Interference.Refused(2) : Interference.None;

        machine.World.RunUntil(() => machine.IsGuardOpen, 1, "not read is open");
        machine.World.Run(5);
        Assert.Equal(1, machine.Told(FaultCode.ModuleRefuses));
    }

    [Theory]
    [InlineData(""" "function": 1, "start": 10, "bits": 16 """)]
    [InlineData(""" "function": 3, "start": 300, "bits": 16 """)]
    [InlineData(""" "function": 3, "start": 300, "bits": 40, "wordOrder": "highFirst", "byteOrder": "lowFirst" """)]
    [InlineData(""" "function": 4, "start": 0, "bits": 16, "bitOrder": "highFirst" """)]
    [InlineData(""" "function": 4, "start": 0, "bits": 16, "bitsPerRegister": 1 """)]
    public void Guard_ByEachFunctionAndPacking_IsSeenToOpen(string inputs)
    {
        var machine = new ModuleMachine(inputs, """ "function": 16, "start": 500, "bits": 8 """);
        machine.StartUp();
        for (var other = 2; other < machine.Module.Inputs.Length; other++)
        {
            machine.Module.Inputs[other] = other % 3 == 0;
        }

        machine.World.Run(1);
        Assert.False(machine.IsGuardOpen);
        machine.Module.Inputs[0] = false;
        machine.World.RunUntil(() => machine.IsGuardOpen, 1, "the guard is seen open");
    }
}
