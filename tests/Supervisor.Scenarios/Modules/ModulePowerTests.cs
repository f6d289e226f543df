using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Outputs;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.World;
using Supervisor.Simulation.Modules;

namespace Supervisor.Scenarios.Modules;

/// <summary>A contactor whose coil a module on the right line feeds (output 3) and whose mirror contact it reads (input 2), under the whole supervisor.</summary>
public sealed class ModulePowerTests
{
    [Fact]
    public void Power_OnAModule_SwitchesOnAndDropsWhenAStopFailsOnTheOtherLine()
    {
        var machine = Started();
        machine.Done(new SwitchPowerCommand(true));
        Assert.True(Coil(machine));
        machine.Done(new EnableCommand(machine.Axes("left")));
        machine.Control.Submit(new MoveCommand([new MoveTarget(machine.World.Axis("left"), 300, false) { WithoutEnd = true }], null), machine.Grant);
        machine.RunUntil(() => machine.World.Snapshot("left").Velocity > 250, 3, "running");
        machine.World.Ports[0].Interfere = frame => frame.Function == 3 ? Interference.None : Interference.Refused(4);

        machine.Control.Submit(new StopCommand(machine.Axes("left")), null);
        machine.RunUntil(() => machine.World.Snapshot("left").Fault == FaultCode.StopFailed, 5, "the stop has failed");
        machine.RunUntil(() => !Coil(machine), 0.2, "the coil has dropped");

        machine.Run(1);
        Assert.Equal((PowerState.Faulted, FaultCode.PowerDropped), (machine.Control.Status().PowerEnable!.State, machine.Control.Status().PowerEnable!.Fault));
        Assert.False(Coil(machine));
    }

    [Fact]
    public void Power_ModuleRestarts_StaysOffUntilAPersonSwitchesItOn()
    {
        var machine = Started();
        machine.Done(new SwitchPowerCommand(true));

        Module(machine).Restart();
        machine.Run(5);

        Assert.False(Coil(machine));
        Assert.NotEqual(PowerState.On, machine.Control.Status().PowerEnable!.State);
        Assert.True(machine.Control.Status().Modules[0] is { Online: true, OutputsReady: true, WhatToDo: "" });
        if (machine.Control.Status().PowerEnable!.State == PowerState.Faulted)
        {
            machine.Done(new ResetCommand([]));
        }

        machine.Done(new SwitchPowerCommand(true));
        Assert.True(Coil(machine));
    }

    [Fact]
    public void Power_SupervisorGone_CoilDropsByTheModulesOwnTimeOut()
    {
        var machine = Started();
        machine.Done(new SwitchPowerCommand(true));
        machine.World.KillSupervisor();
        machine.Run(0.1);
        Assert.True(Coil(machine));
        machine.Run(0.3);
        Assert.False(Coil(machine));
    }

    [Fact]
    public void Status_ModuleUnplugged_SaysWhatToDo()
    {
        var machine = Started();
        Module(machine).IsUnplugged = true;
        machine.RunUntil(() => !machine.Control.Status().Modules[0].Online, 2, "lost");
        Assert.Equal("See that module terminal answers on line-b, address 20.", machine.Control.Status().Modules[0].WhatToDo);
        machine.Run(0.5);
        Assert.Equal(Refusal.PowerUnproven, machine.Do(new SwitchPowerCommand(true)).Refusal);
    }

    private static SimulatedModule Module(SupervisedMachine machine)
    {
        machine.World.Plant.Modules[0].Advance(machine.World.Queue.Now);
        return machine.World.Plant.Modules[0];
    }

    private static bool Coil(SupervisedMachine machine) => Module(machine).Outputs[3];

    /// <summary>The contactor follows its coil after 30 ms.</summary>
    private static SupervisedMachine Started()
    {
        var machine = new SupervisedMachine(Machine(), 11);
        var queue = machine.World.Queue;
        var (isClosed, coil, since) = (false, false, queue.Now);
        void Contactor()
        {
            var now = Coil(machine);
            if (now != coil)
            {
                (coil, since) = (now, queue.Now);
            }

            isClosed = queue.Now - since >= TimeSpan.FromMilliseconds(30) ? coil : isClosed;
            Module(machine).Inputs[2] = !isClosed;
            queue.After(TimeSpan.FromMilliseconds(5), Contactor);
        }

        Contactor();
        machine.RunUntil(() => machine.Control.Status().Axes.All(axis => axis.Online), 10, "every axis met");
        machine.RunUntil(() => machine.Control.Status().Modules[0].OutputsReady, 10, "the module met");
        machine.Run(0.5);
        machine.Grant = machine.Control.TryAcquire("operator", out _);
        return machine;
    }

    private static MachineDefinition Machine()
    {
        var packing = new BitPacking(16, BitOrder.LowFirst, ByteOrder.HighFirst, WordOrder.LowFirst);
        var time = new ModuleSetting(4096, 20, true);
        return Machines.TwoPorts() with
        {
            Modules =
            [
                new ModuleDefinition("terminal", 1, 20, new ModuleInputs(2, 0, 8, packing, new Dictionary<string, int>()),
                    new ModuleOutputs(15, 0, 8, packing, new Dictionary<string, int>(), new ModuleReadBack(1, 0)),
                    new ModuleTimeoutDefinition(TimeSpan.FromMilliseconds(200), ModuleReaction.Off, TimeoutFeed.AnyFrame, 6, time, [time]),
                    TimeSpan.FromMilliseconds(12), TimeSpan.FromMilliseconds(100), TimeSpan.Zero),
            ],
            PowerEnable = new PowerEnableDefinition(
                new OutputReference("module:terminal/3", OutputSource.Module, -1, -1) { Module = new ModuleReference(0, 3) },
                new InputReference("module:terminal/2", InputSource.Module, -1, null, null) { Module = new ModuleReference(0, 2) },
                TimeSpan.FromMilliseconds(250), TimeSpan.FromMilliseconds(250), [0, 1]),
        };
    }
}
