using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Modules;

/// <summary>A module that loses a share of its exchanges: told, then none of its inputs counts as closed, while its outputs are set as ordered.</summary>
public sealed class ModuleErrorRateTests
{
    [Fact]
    public void Module_LosesAFewPercent_IsToldOnceAndReliedUponAllTheSame()
    {
        var machine = new ModuleMachine();
        machine.StartUp();
        Lose(machine, oneOf: 45);
        for (var i = 0; i < 25; i++)
        {
            machine.World.Run(1);
            machine.Set(machine.Gripper, i % 2 == 0);
        }

        Assert.Equal(1, machine.Told(FaultCode.ModuleErrorsFrequent));
        Assert.Single(machine.World.Faults);
        Assert.InRange(Snapshot(machine).ErrorPercent, 1, 6);
        Assert.False(Snapshot(machine).Distrusted);
        Assert.False(machine.IsGuardOpen);
        Assert.Equal(0, machine.World.Snapshot("left").ErrorPercent);
    }

    [Fact]
    public void Module_LosesAThird_ItsInputsOpenAndItsOutputsAreStillSet()
    {
        // Patient: only the share opens the guard, no silence.
        var machine = new ModuleMachine(timeout: ModuleMachine.Timeout.Replace("200", "2000", StringComparison.Ordinal) + ", \"staleMs\": 2000");
        machine.StartUp();
        machine.Set(machine.Gripper, true);
        machine.World.Give("left", AxisCommandKind.MoveBy, 100_000);
        Lose(machine, oneOf: 3);
        machine.World.RunUntil(() => machine.IsGuardOpen, 120, "the guard counts as open");
        machine.World.RunUntil(() => machine.World.State("left") == AxisState.Disabled && machine.World.State("right") == AxisState.Disabled, 3, "its axes are off");

        Assert.Equal((1, 1), (machine.Told(FaultCode.ModuleErrorsFrequent), machine.Told(FaultCode.ModuleErrorsTooMany)));
        Assert.Equal(0, machine.Told(FaultCode.ModuleLost));
        Assert.True(Snapshot(machine) is { Online: true, Distrusted: true, ErrorPercent: >= 25 });

        // What has to fall still does.
        Assert.True(machine.Module.Outputs[2]);
        machine.Set(machine.Gripper, false);
        Assert.False(machine.Module.Outputs[2]);

        // A real opening is seen at once; a closed guard is not believed, whoever resets.
        machine.Module.Inputs[0] = false;
        machine.World.RunUntil(() => !Guard(machine).Closed, 1, "an opening is read");
        machine.Module.Inputs[0] = true;
        machine.World.ResetInterlocks();
        machine.World.Run(5);
        Assert.True(machine.IsGuardOpen);

        // The plug is mended.
        machine.World.Ports[0].Interfere = null;
        machine.World.RunUntil(() => !Snapshot(machine).Distrusted, 120, "relied upon again");
        Assert.InRange(Snapshot(machine).ErrorPercent, 10, 12.5);
        machine.World.Run(1);
        Assert.True(machine.IsGuardOpen);
        machine.World.ResetInterlocks();
        machine.World.Run(3);
        Assert.False(machine.IsGuardOpen);
        machine.World.Do("left", AxisCommandKind.Enable);

        // Once more is told once more.
        Lose(machine, oneOf: 3);
        machine.World.RunUntil(() => machine.IsGuardOpen, 120, "open again");
        Assert.Equal(2, machine.Told(FaultCode.ModuleErrorsTooMany));
    }

    [Fact]
    public void Module_SwitchedOffAgainAndAgain_IsLostAndNoBadLine()
    {
        var machine = new ModuleMachine();
        machine.StartUp();
        for (var i = 0; i < 20; i++)
        {
            machine.Module.IsUnplugged = true;
            machine.World.Run(2);
            machine.Module.IsUnplugged = false;
            machine.World.Run(2);
        }

        Assert.Equal(20, machine.Told(FaultCode.ModuleLost));
        Assert.Equal((0, 0), (machine.Told(FaultCode.ModuleErrorsFrequent), machine.Told(FaultCode.ModuleErrorsTooMany)));
    }

    private static Runtime.Modules.ModuleSnapshot Snapshot(ModuleMachine machine) => machine.World.Board.Modules[0].Read();

    private static InputReading Guard(ModuleMachine machine) =>
        machine.World.Board.Inputs.Read(machine.World.Board.Inputs.IndexOf(machine.World.Machine.Interlocks[0].Inputs[0]));

    private static void Lose(ModuleMachine machine, int oneOf)
    {
        var random = new Random(7);
        machine.World.Ports[0].Interfere = frame => frame.Unit == ModuleMachine.Address && random.Next(oneOf) == 0 ? Interference.LostReply : Interference.None;
    }
}
