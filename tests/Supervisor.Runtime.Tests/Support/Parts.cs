using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Tests.Support;

/// <summary>Invented machines, axes and drives.</summary>
internal static class Parts
{
    public static readonly PortDefinition Port = new(
        "line-a", "/dev/null", 115200, ParityKind.None, 1, TimeSpan.FromMilliseconds(40), default, TimeSpan.FromMilliseconds(10), 2);

    /// <summary>CiA 402 words.</summary>
    public static DriveDefinition Words() => new(
        "Words",
        new WireDefinition(3, 32, 16, 32, false, WordOrder.HighFirst, 0, TimeSpan.Zero, [6], false),
        StateCoding.Cia402,
        null,
        null,
        [Told("statusword", 0, RegisterType.U16), Told("position", 1, RegisterType.S32), Told("velocity", 3, RegisterType.S32), Told("digitalInputs", 5, RegisterType.U16)],
        [
            Commanded("controlword", 64, RegisterType.U16), Commanded("mode", 65, RegisterType.S16), Commanded("targetPosition", 66, RegisterType.S32),
            Commanded("profileVelocity", 68, RegisterType.U32), Commanded("digitalOutputs", 70, RegisterType.U16),
        ],
        [
            Commanded("communicationTimeout", 128, RegisterType.U16), Told("uptime", 130, RegisterType.U32), Told("serialNumber", 132, RegisterType.U32),
            Told("homed", 134, RegisterType.U16),
        ],
        new Dictionary<string, BitReference> { ["input1"] = new("digitalInputs", 0, false) },
        new Dictionary<string, BitReference> { ["valve"] = new("digitalOutputs", 0, false) },
        new CommunicationTimeoutDefinition(TimeoutFeed.AnyFrame, TimeoutReaction.QuickStopThenOff),
        TimeSpan.Zero);

    /// <summary>Bits, "power" and "stop" in one word.</summary>
    public static DriveDefinition Bits() => Words() with
    {
        Name = "Bits",
        Coding = StateCoding.Bits,
        States = new StateBits(new("status", 0, false), new("status", 1, false), new("status", 2, false), new("status", 3, false), new("status", 4, false)),
        Commands = new CommandBits(new("command", 0, false), new("command", 1, true), new("command", 2, false), new("command", 3, true), new("command", 4, true)),
        Feedback = [Told("status", 0, RegisterType.U16), Told("position", 1, RegisterType.S32), Told("velocity", 3, RegisterType.S32), Told("digitalInputs", 5, RegisterType.U16)],
        Command =
        [
            Commanded("command", 64, RegisterType.U16), Commanded("targetPosition", 66, RegisterType.S32), Commanded("profileVelocity", 68, RegisterType.U32),
            Commanded("digitalOutputs", 70, RegisterType.U16),
        ],
    };

    public static AxisDefinition Axis(string name = "slide", byte address = 1, DriveDefinition? drive = null) => new(
        name, 0, address, drive ?? Words(), "mm", 1000, false, null, new LimitsDefinition(0, 500, 200, 1000, 1000, null),
        new InPositionDefinition(0.1, TimeSpan.FromMilliseconds(20)), null, null, null, ReferenceKind.Absolute, false, null, null,
        TimeSpan.FromMilliseconds(250), []);

    public static MachineDefinition Machine(params AxisDefinition[] axes) => new("Carriers", [Port], axes, [], []);

    public static InterlockDefinition Interlock(string name, InterlockKind kind, int category, int[] axes, int inputAxis) => new(
        name, kind, [new InputReference($"axis{inputAxis}.input1", InputSource.Drive, inputAxis, new BitReference("digitalInputs", 0, false), null)],
        null, category, axes, null, TimeSpan.Zero, TimeSpan.FromMilliseconds(200));

    public static RegisterField Told(string name, int register, RegisterType type, double scale = 1) =>
        new(name, register, type, scale, null, RegisterAccess.Read);

    public static RegisterField Commanded(string name, int register, RegisterType type, double scale = 1) =>
        new(name, register, type, scale, null, RegisterAccess.ReadWrite);
}
