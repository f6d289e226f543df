using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Parameters;

/// <summary>Parameters the machine file fixes: compared at first contact, told, and written, left or held against the axis as the file says.</summary>
public sealed class FixedParameterTests
{
    private const int GainRegister = 148;
    private const int LoopRegister = 150;

    [Fact]
    public void Volatile_ForgottenByTheDrive_IsWrittenAndTold()
    {
        var world = new SimulatedWorld(Machine("""{ "loop": 80 }"""), 1);
        world.Drive("slide").Exchange(77);
        world.StartUp();

        Assert.Equal(80, world.Drive("slide").Register("loop"));
        var told = Assert.Single(world.Faults);
        Assert.Equal((FaultCode.ParameterFoundDifferent, 80.0, 0.0, ParameterMeasure.Written), (told.Code, told.Parameter.Wanted, told.Parameter.Found, told.Parameter.Measure));
        Assert.Equal("loop", world.Machine.Axes[0].Drive.Parameters[told.Parameter.Index].Name);
        world.Do("slide", AxisCommandKind.Home);
        Assert.Equal(AxisState.Ready, world.State("slide"));
    }

    [Fact]
    public void Stored_AsWanted_IsNeverWritten()
    {
        var world = new SimulatedWorld(Machine("""{ "gain": 12 }"""), 2);
        world.StartUp();
        for (var i = 0; i < 3; i++)
        {
            world.Drive("slide").Restart();
            world.Run(5);
        }

        Assert.Equal(0, world.Drive("slide").MemoryWrites);
        Assert.DoesNotContain(world.Faults, fault => fault.Parameter.Measure != ParameterMeasure.None);
    }

    [Fact]
    public void Stored_ThatDiffers_IsWrittenOnceAndKept()
    {
        var world = new SimulatedWorld(Machine("""{ "gain": 12 }"""), 3);
        world.Drive("slide").Exchange(77);
        world.StartUp();
        Assert.Equal(120, world.Drive("slide").Register("gain"));
        Assert.Equal(1, world.Drive("slide").MemoryWrites);

        world.Drive("slide").Restart();
        world.Run(5);
        Assert.Equal(120, world.Drive("slide").Register("gain"));
        Assert.Equal(1, world.Drive("slide").MemoryWrites);
        Assert.Single(world.Faults, fault => fault.Parameter.Measure == ParameterMeasure.Written);
    }

    /// <summary>A drive that loses what it stored would have its memory worn out by whoever writes it again at every meeting.</summary>
    [Fact]
    public void Stored_LostByItsDriveAgainAndAgain_IsAFaultInsteadOfMoreWrites()
    {
        var world = new SimulatedWorld(Machine("""{ "gain": 12 }"""), 4);
        var serial = world.Drive("slide").SerialNumber;
        world.Drive("slide").Exchange(serial);
        world.StartUp();
        var writes = 0;
        world.FrameBegun = frame => writes += frame.Writes().Count(write => write.Address == GainRegister);
        for (var i = 0; i < 5; i++)
        {
            world.Drive("slide").Exchange(serial);
            world.Run(8);
            world.Give("slide", AxisCommandKind.Reset);
            world.Run(8);
        }

        Assert.Equal(0, writes);
        Assert.Equal(AxisState.Faulted, world.State("slide"));
        Assert.Single(world.Faults, fault => fault is { Code: FaultCode.ParameterDiffers, Parameter.Measure: ParameterMeasure.NotWrittenAgain });
        Assert.Equal(Refusal.ParametersDiffer, world.EndOf(world.Reports[^1].CommandId).Refusal);
    }

    [Fact]
    public void Stored_WriteThatWasNotAnswered_IsLookedAtAndNotRepeated()
    {
        var world = new SimulatedWorld(Machine("""{ "gain": 12 }"""), 5);
        world.Drive("slide").Exchange(77);
        var lost = 0;
        world.Ports[0].Interfere = frame => frame.Writes().Any(write => write.Address == GainRegister) && lost++ == 0 ? Interference.LostReply : Interference.None;
        world.StartUp();

        Assert.Equal(1, lost);
        Assert.Equal(1, world.Drive("slide").MemoryWrites);
        Assert.Equal(AxisState.Disabled, world.State("slide"));
    }

    [Fact]
    public void Stored_WriteThatNeverArrived_IsRepeatedOnce()
    {
        var world = new SimulatedWorld(Machine("""{ "gain": 12 }"""), 6);
        world.Drive("slide").Exchange(77);
        var sent = 0;
        world.Ports[0].Interfere = frame => frame.Writes().Any(write => write.Address == GainRegister) && sent++ < 5 ? Interference.LostRequest : Interference.None;
        world.StartUp();
        world.Run(20);

        Assert.Equal(2, sent);
        Assert.Equal(FaultCode.ParameterDiffers, world.Snapshot("slide").Fault);
    }

    [Fact]
    public void Refuse_ThatDiffers_KeepsTheAxisOutOfUseUntilTheDriveHasIt()
    {
        var world = new SimulatedWorld(Machine("""{ "gain": { "value": 12, "onDifference": "refuse" } }"""), 7);
        world.Drive("slide").Exchange(77);
        world.RunUntil(() => world.Snapshot("slide").Online, 10, "met");
        world.Run(2);
        Assert.Equal(FaultCode.ParameterDiffers, world.Snapshot("slide").Fault);
        Assert.False(FaultCatalogue.MayRecover(FaultCode.ParameterDiffers));

        Assert.Equal(Refusal.AxisFaulted, Refused(world, AxisCommandKind.Home));
        Assert.Equal(Refusal.ParametersDiffer, Refused(world, AxisCommandKind.Reset));
        world.Run(10);
        Assert.Equal(0, world.Drive("slide").MemoryWrites);
        Assert.Single(world.Faults, fault => fault.Code == FaultCode.ParameterDiffers);

        // Set with the drive's own tool: seen without a word from anyone, and then a reset is enough.
        world.Drive("slide").Write(GainRegister, [120]);
        world.Run(5);
        world.Do("slide", AxisCommandKind.Reset);
        world.Do("slide", AxisCommandKind.Home);
        Assert.Equal(AxisState.Ready, world.State("slide"));
    }

    [Fact]
    public void Warn_ThatDiffers_IsLeftAndToldOnce()
    {
        var world = new SimulatedWorld(Machine("""{ "loop": { "value": 80, "onDifference": "warn" } }"""), 8);
        world.Drive("slide").Exchange(77);
        world.StartUp();
        for (var i = 0; i < 3; i++)
        {
            world.Ports[0].IsUnplugged = true;
            world.Run(2);
            world.Ports[0].IsUnplugged = false;
            world.Run(5);
        }

        Assert.Equal(0, world.Drive("slide").Register("loop"));
        var told = Assert.Single(world.Faults, fault => fault.Parameter.Measure != ParameterMeasure.None);
        Assert.Equal((FaultCode.ParameterFoundDifferent, ParameterMeasure.Left), (told.Code, told.Parameter.Measure));
        Assert.Equal(ParameterMeasure.Left, world.Board.Parameters[0].Known[told.Parameter.Index].Read().Measure);
    }

    [Fact]
    public void Volatile_ThatTheDriveRefuses_IsAFaultWithItsName()
    {
        var world = new SimulatedWorld(Machine("""{ "loop": 80 }"""), 9);
        world.Drive("slide").Exchange(77);
        world.Ports[0].Interfere = frame => frame.Writes().Any(write => write.Address == LoopRegister) ? Interference.Refused(3) : Interference.None;
        world.RunUntil(() => world.Snapshot("slide").Online, 10, "met");
        world.Run(30);

        var told = Assert.Single(world.Faults);
        Assert.Equal((FaultCode.ParameterDiffers, ParameterMeasure.NotTaken), (told.Code, told.Parameter.Measure));
        Assert.Equal("loop", world.Machine.Axes[0].Drive.Parameters[told.Parameter.Index].Name);
        Assert.Equal(Refusal.ParametersDiffer, Refused(world, AxisCommandKind.Reset));
    }

    /// <summary>Two drives whose cables were swapped must not have their memories written with each other's values.</summary>
    [Fact]
    public void Stored_OfAnUnknownDrive_IsHeldBackUntilAPersonAcceptsTheDrive()
    {
        var world = new SimulatedWorld(Machine("""{ "gain": 12 }"""), 10);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        world.Do("slide", AxisCommandKind.Disable);
        world.Ports[0].IsUnplugged = true;
        world.Run(2);
        world.Drive("slide").Exchange(77);
        world.Ports[0].IsUnplugged = false;
        world.Run(5);
        Assert.Equal(FaultCode.WrongIdentity, world.Snapshot("slide").Fault);
        Assert.Contains(world.Faults, fault => fault is { Code: FaultCode.ParameterDiffers, Parameter.Measure: ParameterMeasure.HeldBack });

        // Meeting it again is no acceptance.
        world.Ports[0].IsUnplugged = true;
        world.Run(2);
        world.Ports[0].IsUnplugged = false;
        world.Run(5);
        Assert.Equal(0, world.Drive("slide").MemoryWrites);

        Assert.Equal(Refusal.ParametersDiffer, Refused(world, AxisCommandKind.Reset));
        world.Run(3);
        Assert.Equal(1, world.Drive("slide").MemoryWrites);
        world.Do("slide", AxisCommandKind.Reset);
        Assert.False(world.Snapshot("slide").Referenced);
    }

    [Fact]
    public void CommunicationTimeout_InAStoredRegister_IsWrittenOnDifferenceOnlyAndTold()
    {
        var machine = Machine("{}", """{ "name": "communicationTimeout", "register": 128, "type": "u16", "unit": "ms", "stored": true }""");
        var world = new SimulatedWorld(machine, 11);
        world.StartUp();
        Assert.Equal(1, world.Drive("slide").MemoryWrites);
        for (var i = 0; i < 3; i++)
        {
            world.Drive("slide").Restart();
            world.Run(5);
        }

        Assert.Equal(1, world.Drive("slide").MemoryWrites);
        Assert.Equal(400, world.Drive("slide").Register("communicationTimeout"));
        Assert.Single(world.Faults, fault => fault.Parameter.Measure == ParameterMeasure.Written);
    }

    private static Refusal Refused(SimulatedWorld world, AxisCommandKind kind)
    {
        var id = world.Give("slide", kind);
        world.RunUntil(() => world.EndOf(id).Outcome != Outcome.None, 5, "an answer");
        return world.EndOf(id).Refusal;
    }

    internal static Configuration.Machines.MachineDefinition Machine(string parameters, string? timeout = null)
    {
        var one = new OneAxis
        {
            Axis = $"{OneAxis.Homing}, \"parameters\": {parameters}",
            MoreParameters =
                """
                , { "name": "firmwareVersion", "register": 146, "type": "u16", "access": "read" }, { "name": "gain", "register": 148, "type": "u16", "unit": "1/s", "scale": 0.1, "stored": true },
                { "name": "loop", "register": 150, "type": "u16", "unit": "%" }, { "name": "filter", "register": 152, "type": "s32" }
                """,
            Extra = new OneAxis().Extra + ", \"saveParameters\": { \"register\": 160, \"type\": \"u32\", \"value\": 1702257011, \"busyMs\": 600 }",
        };
        return timeout is null ? one.Build() : (one with { Plain = OneAxis.Parameters.Replace("""{ "name": "communicationTimeout", "register": 128, "type": "u16", "unit": "ms" }""", timeout, StringComparison.Ordinal) }).Build();
    }
}
