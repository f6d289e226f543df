using Supervisor.Bus.Rtu;
using Supervisor.Machine.Watching;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.RegisterMaps;

/// <summary>A drive that tells what it is by function 43: one that is not what its definition accepts is told nothing but its stop.</summary>
public sealed class IdentificationTests
{
    private static readonly OneAxis Machine = new()
    {
        Extra = """ "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff" }, "identification": { "vendor": "Maker", "product": "TS-4", "revisions": ["1.2", "1.3"] } """,
    };

    [Fact]
    public void Drive_AsDefined_IsAskedBeforeItIsToldAnythingAndIsMet()
    {
        var (world, frames) = Started(71);
        world.StartUp();

        world.Do("slide", AxisCommandKind.Home);

        Assert.Empty(world.Faults);
        var asked = frames.FindIndex(frame => frame.Function == 43);
        // What comes before is its stop, the controlword alone, and readings.
        Assert.True(asked > 0);
        Assert.All(frames.Take(asked), frame => Assert.All(frame.Writes(), write => Assert.Equal(64, write.Address)));
    }

    [Theory]
    [InlineData("Other", "TS-4", "1.2", "its vendor is \"Other\"; \"Maker\" is accepted")]
    [InlineData("Maker", "TS-5 ", "1.2", "its product is \"TS-5\"; \"TS-4\" is accepted")]
    [InlineData("Maker", "TS-4", "1.20", "its revision is \"1.20\"; \"1.2\" or \"1.3\" is accepted")]
    [InlineData("Maker", "", "1.2", "its product is not told; \"TS-4\" is accepted")]
    [InlineData("Maker", "TS-4 with a name that goes on and on and on without an end", "1.2", "its product is \"TS-4 with a name that goes on and on and on with…\"; \"TS-4\" is accepted")]
    public void Drive_OfAnotherKind_IsAFaultThatTellsBothAndIsNeverToldMoreThanItsStop(string vendor, string product, string revision, string told)
    {
        var (world, frames) = Started(72);
        world.Drive("slide").Identity = new DeviceIdentity(vendor, product, revision);

        world.Run(10);

        Assert.False(world.Snapshot("slide").Online);
        Assert.Equal(told, IdentityTexts.Of(world.Machine, world.Faults.First(fault => fault.Code == FaultCode.WrongIdentity)));
        Assert.All(frames, frame => Assert.All(frame.Writes(), write => Assert.Equal(64, write.Address)));

        // The right one is put in: it is met by itself, and a person resets the fault.
        world.Drive("slide").Identity = new DeviceIdentity("Maker", "TS-4", "1.3");
        world.RunUntil(() => world.Snapshot("slide").Online, 10, "the right drive is met");
        world.Run(2);
        world.Do("slide", AxisCommandKind.Reset);
        world.Do("slide", AxisCommandKind.Home);
    }

    [Fact]
    public void Drive_ThatDoesNotTellWhatItIs_IsAFaultThatTellsWhatIsAccepted()
    {
        var (world, _) = Started(75);
        world.Drive("slide").Identity = null;

        world.Run(10);

        Assert.False(world.Snapshot("slide").Online);
        Assert.Equal(
            "it does not tell what it is (function 43 is refused); vendor \"Maker\", product \"TS-4\", revision \"1.2\" or \"1.3\" is accepted",
            IdentityTexts.Of(world.Machine, world.Faults.First(fault => fault.Code == FaultCode.RequestRejected)));
    }

    [Fact]
    public void Drive_ThatTellsBlanksBehindItsTexts_IsTheSame()
    {
        var (world, _) = Started(73);
        world.Drive("slide").Identity = new DeviceIdentity("Maker   ", "TS-4\0\0", "1.2");

        world.StartUp();

        Assert.Empty(world.Faults);
    }

    [Fact]
    public void Drive_OnANoisyWire_IsNeverTakenForAnother()
    {
        var (world, frames) = Started(74);
        world.StartUp();
        world.Ports[0].Wire.Faults = new WireFaults(0.05, 0.05, 0.1, 0.05, 0, 0, TimeSpan.Zero);
        for (var i = 0; i < 30; i++)
        {
            world.Drive("slide").Restart();
            world.Run(4);
        }

        Assert.DoesNotContain(world.Faults, fault => fault.Code == FaultCode.WrongIdentity);
        Assert.True(frames.Count(frame => frame.Function == 43) > 20, "It was not met anew.");
    }

    private static (SimulatedWorld World, List<WireFrame> Frames) Started(ulong seed)
    {
        var world = new SimulatedWorld(Machine.Build(), seed);
        var frames = new List<WireFrame>();
        world.FrameBegun = frames.Add;
        return (world, frames);
    }
}
