using Supervisor.Records.Faults;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Modules;

/// <summary>Outputs of a module: set when its own time-out is, confirmed by what it reads back, off by themselves when nobody speaks to it.</summary>
public sealed class ModuleOutputTests
{
    [Theory]
    [InlineData(""" "function": 5, "start": 3, "bits": 8 """)]
    [InlineData(""" "function": 6, "start": 20, "bits": 8 """)]
    [InlineData(""" "function": 6, "start": 20, "bits": 8, "bitsPerRegister": 1 """)]
    [InlineData(""" "function": 22, "start": 20, "bits": 8 """)]
    [InlineData(""" "function": 22, "start": 20, "bits": 20, "bitsPerRegister": 4, "bitOrder": "highFirst" """)]
    [InlineData(""" "function": 15, "start": 0, "bits": 8, "readBack": { "function": 2, "start": 100 } """)]
    [InlineData(""" "function": 15, "start": 0, "bits": 8, "readBack": "none" """)]
    [InlineData(""" "function": 16, "start": 20, "bits": 20, "byteOrder": "lowFirst", "wordOrder": "highFirst", "readBack": { "function": 4, "start": 90 } """)]
    public void Order_ByEachFunctionAndPacking_SetsThatOutputAlone(string outputs)
    {
        var machine = new ModuleMachine(outputs: outputs);
        machine.StartUp();
        machine.Set(machine.Gripper, true);
        Assert.Equal([2], On(machine));
        machine.Set(machine.Lamp, true);
        Assert.Equal([2, 7], On(machine));
        machine.Set(machine.Gripper, false);
        Assert.Equal([7], On(machine));
        machine.World.Run(10);
        Assert.Equal([7], On(machine));
        Assert.Empty(machine.World.Faults);
    }

    [Fact]
    public void Order_BeforeTheTimeOutIsVerified_IsWrittenOnlyAfterIt()
    {
        var machine = new ModuleMachine();
        machine.Gripper.Want(true);
        machine.World.RunUntil(() => machine.Gripper.Read() is { Known: true, On: true }, 5, "set");

        var frames = machine.ToModule.ToList();
        var set = frames.FindIndex(frame => frame.Function is 5 or 15);

        // The time is written, then read back; what arms the module comes after it.
        var written = frames.FindIndex(frame => frame.Function == 6 && frame.Writes().Any(write => write is { Address: 4096, Value: 20 }));
        var readBack = frames.FindIndex(written + 1, frame => frame.Function == 3);
        var armed = frames.FindIndex(frame => frame.Function == 6 && frame.Writes().Any(write => write is { Address: 4101, Value: 1 }));
        Assert.True(written >= 0 && written < readBack && readBack < armed && armed < set, $"{written} {readBack} {armed} {set}");
        Assert.True(machine.Module.IsArmed);
    }

    [Fact]
    public void TimeOut_ThatIsNotTaken_LeavesEveryOutputUnset()
    {
        var machine = new ModuleMachine();
        machine.Module.IsStubborn = true;
        machine.Gripper.Want(true);
        machine.World.Run(20);
        Assert.Equal(1, machine.Told(FaultCode.ModuleTimeoutUnverified));
        Assert.DoesNotContain(machine.ToModule, frame => frame.Function is 5 or 15);
        Assert.True(machine.World.Board.Modules[0].Read() is { Online: true, OutputsReady: false });

        // A value may lie in a memory that every write wears: once, not every second.
        Assert.Single(machine.ToModule, frame => frame.Function == 6);
    }

    [Theory]
    [InlineData("anyFrame")]
    [InlineData("read")]
    [InlineData("write")]
    public void Supervisor_Killed_OutputsGoOffByThemselvesAndNotBefore(string fedBy)
    {
        var machine = new ModuleMachine(timeout: ModuleMachine.Timeout.Replace("\"register\": 4096", $"\"fedBy\": \"{fedBy}\", \"register\": 4096", StringComparison.Ordinal));
        machine.StartUp();
        machine.Set(machine.Gripper, true);
        machine.World.Run(30);
        Assert.Equal((0, true), (machine.Module.TimedOut, machine.Module.Outputs[2]));

        machine.World.KillSupervisor();
        machine.World.Run(0.1);
        Assert.True(machine.Module.Outputs[2]);
        machine.World.Run(0.3);
        Assert.False(machine.Module.Outputs[2]);
    }

    [Fact]
    public void Supervisor_KilledWhereTheModuleHolds_OutputsStay()
    {
        var machine = new ModuleMachine(timeout: "");
        machine.StartUp();
        machine.Set(machine.Gripper, true);
        machine.World.KillSupervisor();
        machine.World.Run(10);
        Assert.True(machine.Module.Outputs[2]);

        machine.World.StartSupervisor(null);
        machine.World.RunUntil(() => machine.Gripper.Read() is { Known: true, On: true }, 5, "found as it was left");
        machine.Frames.Clear();
        machine.World.Run(5);
        Assert.DoesNotContain(machine.ToModule, frame => frame.Function is 5 or 15);
    }

    [Fact]
    public void Module_Restarted_IsToldAndSetsNothingUntilItIsOrderedAnew()
    {
        var machine = new ModuleMachine();
        machine.StartUp();
        machine.Set(machine.Gripper, true);
        machine.Module.Restart();
        machine.World.RunUntil(() => machine.Gripper.Read() is { Known: true, On: false, Losses: > 0 }, 5, "found off");
        machine.World.Run(5);
        Assert.False(machine.Module.Outputs[2]);
        Assert.True(machine.Told(FaultCode.ModuleRestarted) + machine.Told(FaultCode.ModuleLost) > 0);
        Assert.True(machine.Module.IsArmed);

        machine.Set(machine.Gripper, true);
        Assert.True(machine.Module.Outputs[2]);
    }

    [Fact]
    public void Module_OutputsFallUnseenByTheLine_AreFoundAndToldWithinSeconds()
    {
        var machine = new ModuleMachine();
        machine.StartUp();
        machine.Set(machine.Gripper, true);

        // Too short for the line to notice: as if its supply dipped between two requests.
        machine.World.Plant.Modules[0].WriteCoils(0, new bool[8]);

        machine.World.RunUntil(() => machine.Told(FaultCode.ModuleRestarted) == 1, 5, "found changed");
        machine.World.RunUntil(() => machine.Gripper.Read() is { Known: true, On: false, Losses: 1 }, 2, "known to be off");
        machine.World.Run(5);
        Assert.Equal(1, machine.Told(FaultCode.ModuleRestarted));
        Assert.False(machine.Module.Outputs[2]);
    }

    [Fact]
    public void Output_ThatDoesNotFollow_IsNeverConfirmedAndToldOnce()
    {
        var machine = new ModuleMachine();
        machine.StartUp();
        machine.Module.Shorted.Add(2);
        machine.Gripper.Want(true);
        machine.World.Run(20);
        Assert.Equal(1, machine.Told(FaultCode.ModuleOutputNotTaken));
        Assert.Equal(0, machine.Told(FaultCode.ModuleRestarted));
        Assert.False(machine.Gripper.Read().On);
        machine.Set(machine.Lamp, true);

        machine.Module.Shorted.Clear();
        machine.World.RunUntil(() => machine.Gripper.Read() is { Known: true, On: true }, 5, "taken once it can be");
    }

    [Theory]
    [InlineData(ModuleMachine.Coils)]
    [InlineData(""" "function": 5, "start": 3, "bits": 8 """)]
    public void Order_BesideAnOutputThatDoesNotFollow_IsSetAtOnce(string outputs)
    {
        var machine = new ModuleMachine(outputs: outputs);
        machine.StartUp();
        machine.Set(machine.Lamp, true);
        machine.Module.Shorted.Add(2);
        machine.Gripper.Want(true);
        machine.World.Run(20);

        // As the power-enable's drop would be: one write, read back, within a few cycles.
        machine.Lamp.Drop();
        machine.World.Run(0.1);
        Assert.False(machine.Module.Outputs[7]);
        Assert.True(machine.Lamp.Read() is { Known: true, On: false });
    }

    [Fact]
    public void Write_WhoseReplyIsLost_IsReadBackInsteadOfRepeated()
    {
        var machine = new ModuleMachine();
        machine.StartUp();
        machine.World.Ports[0].Interfere = frame => frame is { Unit: ModuleMachine.Address, Function: 15 } ? Interference.LostReply : Interference.None;
        machine.Frames.Clear();
        machine.Set(machine.Gripper, true);
        Assert.Single(machine.ToModule, frame => frame.Function == 15);
    }

    [Fact]
    public void Order_ToASlowlyPolledModuleThatIsMute_CostsItsNeighboursLittle()
    {
        var machine = new ModuleMachine(timeout: ModuleMachine.Timeout.Replace("200", "5000", StringComparison.Ordinal), pollMs: 400);
        machine.StartUp();
        machine.Module.IsUnplugged = true;
        machine.Frames.Clear();
        for (var i = 0; i < 100; i++)
        {
            machine.Gripper.Want(i % 2 == 0, machine.Gripper.Drops);
            machine.World.Run(0.02);
        }

        // 100 cycles: without a bound each of them would wait for two time-outs.
        Assert.InRange(machine.ToModule.Count(), 2, 30);
        Assert.True(machine.Frames.Count(frame => frame is { Port: 0, Unit: 1, Function: 3 or 23 }) >= 97);
    }

    [Fact]
    public void Port_Unplugged_OrderGivenBeforeIsVoidAfter()
    {
        var machine = new ModuleMachine();
        machine.StartUp();
        machine.Set(machine.Gripper, true);
        machine.World.Ports[0].IsUnplugged = true;
        machine.World.Run(2);
        Assert.False(machine.Module.Outputs[2]);
        Assert.False(machine.Gripper.Read().Known);

        machine.World.Ports[0].IsUnplugged = false;
        machine.World.RunUntil(() => machine.Gripper.Read().Known, 5, "met again");
        machine.World.Run(5);
        Assert.False(machine.Module.Outputs[2]);
    }

    private static int[] On(ModuleMachine machine)
    {
        var on = new List<int>();
        var outputs = machine.Module.Outputs;
        for (var output = 0; output < outputs.Length; output++)
        {
            if (outputs[output])
            {
                on.Add(output);
            }
        }

        return [.. on];
    }
}
