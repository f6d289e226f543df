using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.Modules;

/// <summary>A module on a bad wire: what counts as set is set, and what is ordered last is what comes of it.</summary>
public sealed class ModuleNoiseTests
{
    private static readonly WireFaults Noise = new(0.03, 0.03, 0.03, 0.02, 0.03, 0.02, TimeSpan.FromMilliseconds(12));

    [Theory]
    [InlineData(1, """ "function": 15, "start": 0, "bits": 8 """)]
    [InlineData(2, """ "function": 5, "start": 0, "bits": 8 """)]
    [InlineData(3, """ "function": 16, "start": 500, "bits": 8 """)]
    public void Orders_OnANoisyWire_AreConfirmedOnlyWhenTheyAre(int seed, string outputs)
    {
        var machine = new ModuleMachine(outputs: outputs, timeout: ModuleMachine.Timeout.Replace("200", "5000", StringComparison.Ordinal), seed: (ulong)seed);
        machine.StartUp();
        machine.World.Ports[0].Wire.Faults = Noise;
        var random = new Random(seed);
        var confirmed = 0;
        for (var i = 0; i < 1500; i++)
        {
            var cell = random.Next(2) == 0 ? machine.Gripper : machine.Lamp;
            cell.Want(random.Next(2) == 0, cell.Drops);
            machine.World.Queue.RunUntil(machine.World.Queue.Now + TimeSpan.FromMilliseconds(random.Next(1, 150)));
            confirmed += Judge(machine, machine.Gripper, 2, seed, i) + Judge(machine, machine.Lamp, 7, seed, i);
        }

        Assert.True(confirmed > 500, $"seed {seed}: only {confirmed} orders were seen confirmed: the check is empty");
        Assert.True(machine.World.Ports[0].Wire.Counts is { LostRequests: > 20, LostReplies: > 20, Corrupted: > 20, Delayed: > 20 }, $"{machine.World.Ports[0].Wire.Counts}");
        machine.World.Ports[0].Wire.Faults = WireFaults.None;
        machine.World.Run(3);
        machine.Set(machine.Gripper, true);
        machine.Set(machine.Lamp, false);
        Assert.Equal(0, machine.Module.TimedOut);
        Assert.Equal((true, false), (machine.Module.Outputs[2], machine.Module.Outputs[7]));
    }

    /// <summary>1 when the newest order counts as confirmed; the terminal must then have its level.</summary>
    private static int Judge(ModuleMachine machine, Runtime.Outputs.OutputCell cell, int bit, int seed, int step)
    {
        var reading = cell.Read();
        if (!reading.Known || reading.Acknowledged != cell.Order.Number)
        {
            return 0;
        }

        Assert.True(
            reading.On == machine.Module.Outputs[bit],
            $"seed {seed}, step {step}: output {bit} counts as {reading.On} and is {machine.Module.Outputs[bit]}");
        return 1;
    }
}
