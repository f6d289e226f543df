using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.Moves;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stops;

/// <summary>
/// A safety relay takes the drives' power by itself after its off-delay. What the drives then tell is told as its consequence; the same words
/// without it stand for themselves.
/// </summary>
public sealed class HardwareStopTests
{
    private const ushort UnderVoltage = 0x3220;
    private const double OffDelayS = 1.0;
    private const int EmergencyStop = 0;

    [Fact]
    public void SupplyDips_AfterTheEmergencyStopsOffDelay_IsItsConsequenceAndNeverTheCause()
    {
        var machine = Crossing(81);
        PressEmergencyStop(machine);
        machine.Run(OffDelayS + 0.3);
        Dip(machine);

        Assert.Equal(machine.Axes("dibber", "drum", "gantry", "tray").Order(), machine.Journal.Faults.Select(fault => (int)fault.Axis).Order());
        Assert.All(machine.Journal.Faults, fault => Assert.Equal((FaultCode.UnderVoltage, EmergencyStop), (fault.Code, fault.ConsequenceOf)));
        Assert.Equal("emergency stop", machine.Axis("gantry").FaultConsequenceOf);

        // What is left to do is told as such: the interlock first, then the reset.
        Assert.Equal(Refusal.InterlockOpen, machine.Do(machine.Move("gantry", 10)).Refusal);
        Release(machine);
        var refused = machine.Do(machine.Move("gantry", 10));
        Assert.Equal(Refusal.AxisFaulted, refused.Refusal);
        Assert.Contains("as a consequence of the emergency stop", refused.Message, StringComparison.Ordinal);
        machine.Done(new ResetCommand([]));
        Assert.Null(machine.Axis("gantry").FaultConsequenceOf);
        machine.Done(new EnableCommand(machine.Axes("gantry")));
    }

    [Fact]
    public void SupplyDips_WithoutAStop_StandsForItself()
    {
        var machine = Crossing(82);
        Dip(machine);

        Assert.NotEmpty(machine.Journal.Faults);
        Assert.All(machine.Journal.Faults, fault => Assert.Equal(-1, fault.ConsequenceOf));
        Assert.Null(machine.Axis("gantry").FaultConsequenceOf);
        Assert.DoesNotContain("consequence", machine.Do(machine.Move("gantry", 10)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void SupplyDips_LongAfterTheOffDelay_StandsForItself()
    {
        var machine = Crossing(83);
        PressEmergencyStop(machine);
        machine.Run(OffDelayS + 4);
        Dip(machine);

        Assert.All(machine.Journal.Faults, fault => Assert.Equal(-1, fault.ConsequenceOf));
    }

    [Fact]
    public void SupplyDips_WhenTheStopIsResetAndPowerIsBack_StandsForItself()
    {
        var machine = Crossing(84);
        PressEmergencyStop(machine);
        machine.Run(0.5);
        Release(machine);
        Dip(machine);

        Assert.NotEmpty(machine.Journal.Faults);
        Assert.All(machine.Journal.Faults, fault => Assert.Equal(-1, fault.ConsequenceOf));
    }

    [Fact]
    public void AnotherFault_WithinTheOffDelay_StandsForItself()
    {
        var machine = Crossing(85);
        PressEmergencyStop(machine);
        machine.Run(0.5);
        machine.World.Drive("gantry").Trip(0x7305);
        machine.Run(0.5);

        var fault = Assert.Single(machine.Journal.Faults);
        Assert.Equal((FaultCode.Encoder, -1), (fault.Code, fault.ConsequenceOf));
    }

    [Fact]
    public void SupplyDips_WhereTheFileStatesNoOffDelay_StandsForItself()
    {
        var machine = Crossing(86, offDelay: null);
        PressEmergencyStop(machine);
        machine.Run(0.5);
        Dip(machine);

        Assert.All(machine.Journal.Faults, fault => Assert.Equal(-1, fault.ConsequenceOf));
    }

    private static SupervisedMachine Crossing(ulong seed, double? offDelay = OffDelayS)
    {
        var demo = SimulatedWorld.DemoMachine();
        var relay = demo.Interlocks[EmergencyStop] with { OffDelay = offDelay is { } seconds ? TimeSpan.FromSeconds(seconds) : null };
        var machine = Movers.Working(seed, demo with { Interlocks = [relay, .. demo.Interlocks.Skip(1)] });
        Assert.Equal(InterlockKind.EmergencyStop, relay.Kind);
        machine.Begin(machine.Move("gantry", 800));
        machine.RunUntil(() => machine.Axis("gantry").Velocity > 100, 5, "on the way");
        return machine;
    }

    private static void PressEmergencyStop(SupervisedMachine machine) => Channels(machine, closed: false);

    private static void Release(SupervisedMachine machine)
    {
        Channels(machine, closed: true);
        machine.Run(0.5);
        machine.PressReset();
        machine.Run(0.3);
    }

    private static void Channels(SupervisedMachine machine, bool closed)
    {
        machine.World.Drive("tray").SetInput("input1", closed);
        machine.World.Drive("tray").SetInput("input2", closed);
    }

    private static void Dip(SupervisedMachine machine)
    {
        foreach (var axis in machine.Control.Machine.Axes)
        {
            machine.World.Drive(axis.Name).Trip(UnderVoltage);
        }

        machine.Run(0.5);
        Assert.Equal(AxisState.Faulted, machine.State("gantry"));
    }
}
