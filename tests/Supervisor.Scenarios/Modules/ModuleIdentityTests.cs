using Supervisor.Bus.Rtu;
using Supervisor.Machine.Watching;
using Supervisor.Records.Faults;

namespace Supervisor.Scenarios.Modules;

/// <summary>A module that tells what it is by function 43: another one's inputs count as open, and none of its outputs is set.</summary>
public sealed class ModuleIdentityTests
{
    private const string Identification = """, "identification": { "vendor": "Maker", "product": "IO-16" } """;

    [Fact]
    public void Module_AsDefined_IsAskedFirstAndMet()
    {
        var machine = new ModuleMachine(timeout: ModuleMachine.Timeout + Identification);

        machine.StartUp();

        Assert.Equal(43, machine.ToModule.First().Function);
        machine.Set(machine.Gripper, true);
        machine.World.Run(10);
        Assert.False(machine.IsGuardOpen);
        Assert.Single(machine.ToModule, frame => frame.Function == 43);
        Assert.Empty(machine.World.Faults);
    }

    [Fact]
    public void Module_OfAnotherKind_IsOpenToldOnceAndNeverWritten()
    {
        var machine = new ModuleMachine(timeout: ModuleMachine.Timeout + Identification);
        machine.StartUp();
        machine.Set(machine.Gripper, true);
        machine.Frames.Clear();

        machine.Module.Identity = new DeviceIdentity("Maker", "IO-32", "1.0");
        machine.Module.Restart();
        machine.World.RunUntil(() => machine.IsGuardOpen, 3, "another one's input is open");
        machine.World.Run(20);

        Assert.Equal(1, machine.Told(FaultCode.ModuleRefuses));
        Assert.Equal("its product is \"IO-32\"; \"IO-16\" is accepted", Told(machine));
        Assert.False(machine.World.Board.Modules[0].Read().Online);
        var asked = machine.ToModule.ToList().FindIndex(frame => frame.Function == 43);
        Assert.All(machine.ToModule.Skip(asked), frame => Assert.Equal(43, frame.Function));

        // The right one is put back.
        machine.Module.Identity = new DeviceIdentity("Maker", "IO-16", "9");
        machine.World.RunUntil(() => machine.World.Board.Modules[0].Read() is { Online: true, OutputsReady: true }, 3, "met");
        Assert.False(machine.Module.Outputs[2]);
        machine.World.ResetInterlocks();
        machine.World.Run(3);
        Assert.False(machine.IsGuardOpen);
    }

    [Fact]
    public void Module_WithoutTheFunction_RefusesAndIsOpen()
    {
        var machine = new ModuleMachine(timeout: ModuleMachine.Timeout + Identification);
        machine.Module.Identity = null;

        machine.World.Run(10);

        Assert.Equal(1, machine.Told(FaultCode.ModuleRefuses));
        Assert.Equal("it does not tell what it is (function 43 is refused); vendor \"Maker\", product \"IO-16\" is accepted", Told(machine));
        Assert.All(machine.ToModule, frame => Assert.Equal(43, frame.Function));
        Assert.True(machine.IsGuardOpen);
    }

    private static string Told(ModuleMachine machine) =>
        IdentityTexts.Of(machine.World.Machine, machine.World.Faults.First(fault => fault.Code == FaultCode.ModuleRefuses));
}
