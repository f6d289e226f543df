using Supervisor.Configuration.Drives;

namespace Supervisor.Drives.Tests.Support;

/// <summary>Invented register maps.</summary>
internal static class Definitions
{
    public static DriveDefinition Words(bool tellsMode = true) => new(
        "Words",
        new WireDefinition(3, 32, 16, 32, true, WordOrder.HighFirst, 0, TimeSpan.Zero, [6], false),
        StateCoding.Cia402,
        null,
        null,
        [
            Field("statusword", 0, RegisterType.U16), Field("position", 1, RegisterType.S32), Field("velocity", 3, RegisterType.S32),
            Field("torque", 5, RegisterType.S16, 0.1), Field("errorCode", 6, RegisterType.U16), Field("digitalInputs", 7, RegisterType.U16),
            .. tellsMode ? [Field("modeDisplay", 8, RegisterType.S16)] : Array.Empty<RegisterField>(),
        ],
        [
            Field("controlword", 64, RegisterType.U16), Field("mode", 65, RegisterType.S16), Field("targetPosition", 66, RegisterType.S32),
            Field("profileVelocity", 68, RegisterType.U32), Field("torqueLimit", 70, RegisterType.U16, 0.1), Field("digitalOutputs", 71, RegisterType.U16),
        ],
        [],
        new Dictionary<string, BitReference> { ["input1"] = new("digitalInputs", 0, false), ["input2"] = new("digitalInputs", 9, false) },
        new Dictionary<string, BitReference> { ["valve"] = new("digitalOutputs", 1, false), ["lamp"] = new("digitalOutputs", 2, false) },
        null,
        TimeSpan.Zero);

    public static readonly StateBits AllStates =
        new(new("status", 0, false), new("status", 1, false), new("status", 2, false), new("status", 3, false), new("status", 4, false));

    public static readonly CommandBits AllCommands =
        new(new("command", 0, false), new("command", 1, true), new("command", 2, false), new("command", 3, true), new("command", 4, true));

    public static DriveDefinition Bits(StateBits? states = null, CommandBits? commands = null) => Words() with
    {
        Name = "Bits",
        Coding = StateCoding.Bits,
        States = states ?? AllStates,
        Commands = commands ?? AllCommands,
        Feedback = [Field("status", 0, RegisterType.U16), Field("position", 1, RegisterType.S32)],
        Command = [Field("command", 64, RegisterType.U16), Field("targetPosition", 65, RegisterType.S32)],
        Inputs = new Dictionary<string, BitReference>(),
        Outputs = new Dictionary<string, BitReference>(),
    };

    public static RegisterField Field(string name, int register, RegisterType type, double scale = 1) =>
        new(name, register, type, scale, null, RegisterAccess.ReadWrite);
}
