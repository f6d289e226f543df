using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Modules;

namespace Supervisor.Simulation.Tests.Modules;

public sealed class SimulatedModuleTests
{
    [Fact]
    public void Read_InputRegisters_AreNotTheHoldingRegistersOfTheOutputs()
    {
        var module = new SimulatedModule(Support.Modules.Terminal());
        module.Inputs[0] = true;
        module.Inputs[17] = true;
        Assert.Equal(0, module.Write(0, [0b1010]));
        var words = new ushort[2];
        Assert.Equal(0, module.ReadInputRegisters(0, words));
        Assert.Equal([1, 2], words);
        Assert.Equal(0, module.Read(0, words.AsSpan(0, 1)));
        Assert.Equal(0b1010, words[0]);
        Assert.Equal([false, true, false, true], module.Outputs.ToArray());
    }

    [Fact]
    public void Read_WhatItHasNot_IsAnIllegalAddress()
    {
        var module = new SimulatedModule(Support.Modules.Terminal());
        Assert.Equal(2, module.Read(1, new ushort[1]));
        Assert.Equal(2, module.ReadInputRegisters(0, new ushort[3]));
        Assert.Equal(2, module.ReadInputs(0, new bool[1]));
        Assert.Equal(2, module.WriteCoils(0, [true]));
        Assert.Equal(2, module.Write(1, [1]));
    }

    [Theory]
    [InlineData(TimeoutFeed.AnyFrame, true, true)]
    [InlineData(TimeoutFeed.Read, true, false)]
    [InlineData(TimeoutFeed.Write, false, true)]
    public void TimeOut_FedByItsFramesOnly_TakesTheOutputsOffAfterIt(TimeoutFeed fedBy, bool byRead, bool byWrite)
    {
        Assert.Equal(byRead, IsKept(fedBy, module => module.Read(0, new ushort[1])));
        Assert.Equal(byWrite, IsKept(fedBy, module => module.Write(0, [1])));
    }

    [Fact]
    public void TimeOut_NotArmedOrHolding_KeepsTheOutputs()
    {
        var unarmed = new SimulatedModule(Support.Modules.Terminal());
        unarmed.Write(0, [1]);
        unarmed.Advance(TimeSpan.FromMinutes(1));
        Assert.True(unarmed.Outputs[0]);

        var holding = new SimulatedModule(Support.Modules.Terminal(reaction: ModuleReaction.Hold));
        holding.Write(4096, [20]);
        holding.Write(0, [1]);
        holding.Advance(TimeSpan.FromMinutes(1));
        Assert.Equal((true, 1), (holding.Outputs[0], holding.TimedOut));
    }

    [Fact]
    public void Restart_OutputsAndSettingsAreGoneAndItIsSilentForAWhile()
    {
        var module = new SimulatedModule(Support.Modules.Terminal());
        module.Advance(TimeSpan.FromSeconds(1));
        module.Write(4096, [20]);
        module.Write(0, [1]);
        module.Restart();
        Assert.True(module.IsSilent);
        Assert.False(module.IsArmed || module.Outputs[0]);
        module.Advance(TimeSpan.FromSeconds(1) + SimulatedModule.BootTime);
        Assert.False(module.IsSilent);
    }

    private static bool IsKept(TimeoutFeed fedBy, Func<SimulatedModule, byte> feed)
    {
        var module = new SimulatedModule(Support.Modules.Terminal(fedBy));
        module.Write(0, [1]);
        module.Write(4096, [20]);
        for (var ms = 0; ms <= 1000; ms += 100)
        {
            module.Advance(TimeSpan.FromMilliseconds(ms));
            Assert.Equal(0, feed(module));
        }

        return module.TimedOut == 0;
    }
}
