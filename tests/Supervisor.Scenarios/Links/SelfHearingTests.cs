using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.Modules;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Links;

/// <summary>An adapter that hears what it sends: it is named, nothing that it brings is believed, and drives still hear their stops.</summary>
public sealed class SelfHearingTests
{
    private const string SingleWrites = """ "read": { "function": 3, "maxRegisters": 32 }, "write": { "function": 6, "maxRegisters": 1 } """;

    private const string SmallCommand =
        """{ "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" }, { "name": "targetPosition", "register": 66, "type": "s16", "scale": 10 }, { "name": "profileVelocity", "register": 68, "type": "u16", "scale": 100 }""";

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Start_OnSuchAnAdapter_MeetsNobodyAndNamesIt(bool writesSingly)
    {
        var world = Machine(writesSingly);
        world.Ports[0].HearsItself = true;
        world.Run(5);

        Assert.All(world.Machine.Axes, axis => Assert.False(world.Snapshot(axis.Name).Online));
        var told = Assert.Single(world.Faults);
        Assert.Equal((FaultCode.AdapterHearsItself, (short)0, (short)-1), (told.Code, told.Port, told.Axis));
        Assert.True(world.Board.Ports[0].Port.Read().HearsItself);
        Assert.Equal(0, world.Board.Ports[0].Port.Read().Exchanges);

        // Its echo switch is found.
        world.Ports[0].HearsItself = false;
        world.StartUp();
        Assert.False(world.Board.Ports[0].Port.Read().HearsItself);
        Assert.Single(world.Faults);
    }

    /// <summary>Where nobody answers, the writes of one register bring back what a drive would have answered.</summary>
    [Fact]
    public void Start_WithNobodyOnTheLine_TakesNoEchoForADrive()
    {
        var world = Machine(writesSingly: true);
        world.Ports[0].HearsItself = true;
        world.Ports[0].Interfere = _ => Interference.LostRequest;
        world.Run(5);

        Assert.All(world.Machine.Axes, axis => Assert.False(world.Snapshot(axis.Name).Online));
        Assert.Equal(FaultCode.AdapterHearsItself, Assert.Single(world.Faults).Code);
        // A stop to each, which nothing told from its answer yet; no reading.
        Assert.InRange(world.Board.Ports[0].Port.Read().Exchanges, 0, world.Machine.Axes.Count);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Move_WhileTheAdapterBeginsToHearItself_IsALostLinkAndTheDrivesStandStill(bool writesSingly)
    {
        var world = Machine(writesSingly);
        world.StartUp();
        foreach (var axis in world.Machine.Axes)
        {
            world.Do(axis.Name, AxisCommandKind.Enable);
            world.Give(axis.Name, AxisCommandKind.MoveBy, 100_000);
        }

        world.Run(0.3);
        world.Ports[0].HearsItself = true;
        world.RunUntil(() => world.Machine.Axes.All(axis => !world.Drive(axis.Name).Plant.Powered), 5, "every drive stopped");

        Assert.All(world.Machine.Axes, axis => Assert.Equal((AxisState.Faulted, FaultCode.LinkLost), (world.State(axis.Name), world.Snapshot(axis.Name).Fault)));
        Assert.Equal(1, world.Faults.Count(fault => fault.Code == FaultCode.AdapterHearsItself));

        world.Ports[0].HearsItself = false;
        world.StartUp();
        world.Ports[0].HearsItself = true;
        world.Run(3);
        Assert.Equal(2, world.Faults.Count(fault => fault.Code == FaultCode.AdapterHearsItself));
    }

    [Fact]
    public void Exchange_ThatHeardItselfOnce_IsALostExchangeOnly()
    {
        var world = Machine(writesSingly: false);
        world.StartUp();
        var errors = world.Board.Ports[0].Port.Read().Errors;
        for (var i = 0; i < 10; i++)
        {
            var transactions = world.Ports[0].Transactions;
            world.Ports[0].HearsItself = true;
            world.RunUntil(() => world.Ports[0].Transactions > transactions, 1, "one exchange");
            world.Ports[0].HearsItself = false;
            world.Run(1);
        }

        Assert.True(world.Board.Ports[0].Port.Read().Errors >= errors + 10);
        Assert.DoesNotContain(world.Faults, fault => fault.Code == FaultCode.AdapterHearsItself);
        Assert.All(world.Machine.Axes, axis => Assert.True(world.Snapshot(axis.Name).Online));
    }

    [Theory]
    [InlineData(""" "function": 5, "start": 0, "bits": 8 """)]
    [InlineData(""" "function": 6, "start": 0, "bits": 16 """)]
    [InlineData(""" "function": 22, "start": 0, "bits": 16 """)]
    public void ModuleOutput_OnSuchAnAdapter_IsNeverTakenForSet(string outputs)
    {
        var machine = new ModuleMachine(outputs: outputs);
        machine.StartUp();
        machine.World.Ports[0].HearsItself = true;
        machine.Gripper.Want(true, machine.Gripper.Drops);
        machine.World.Run(3);

        Assert.NotEqual(machine.Gripper.Order.Number, machine.Gripper.Read().Acknowledged);
        Assert.True(machine.IsGuardOpen);
        Assert.Contains(machine.World.Faults, fault => fault is { Code: FaultCode.AdapterHearsItself, Port: 0 });
        Assert.Equal(1, machine.Told(FaultCode.ModuleLost));
    }

    private static SimulatedWorld Machine(bool writesSingly) => new(new OneAxis
    {
        Axes = 3,
        Axis = OneAxis.Endless,
        Wire = writesSingly ? SingleWrites : new OneAxis().Wire,
        Command = writesSingly ? SmallCommand : OneAxis.Commands,
        CountsPerUnit = 10,
        Limits = """ "velocity": 200, "acceleration": 1500, "deceleration": 1500 """,
        Window = 1,
    }.Build(), 31);
}
