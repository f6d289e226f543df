using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;

namespace Supervisor.Simulation.Tests.Support;

/// <summary>Invented drives and axes.</summary>
internal static class Definitions
{
    public static readonly PortDefinition Port = new(
        "line-a", "/dev/null", 115200, ParityKind.None, 1, TimeSpan.FromMilliseconds(40), default, TimeSpan.FromMilliseconds(20), 2);

    /// <summary>CiA 402 words, high word first, all parameters.</summary>
    public static DriveDefinition Words(CommunicationTimeoutDefinition? timeout = null) => new(
        "Words",
        new WireDefinition(3, 32, 16, 32, true, WordOrder.HighFirst, 0, TimeSpan.FromMilliseconds(0.2), [6], false),
        StateCoding.Cia402,
        null,
        null,
        [
            Told("statusword", 0, RegisterType.U16), Told("position", 1, RegisterType.S32), Told("velocity", 3, RegisterType.S32),
            Told("torque", 5, RegisterType.S16, 0.1), Told("errorCode", 6, RegisterType.U16), Told("digitalInputs", 7, RegisterType.U16),
            Told("modeDisplay", 8, RegisterType.S16), Told("followingError", 9, RegisterType.S32),
        ],
        [
            Commanded("controlword", 64, RegisterType.U16), Commanded("mode", 65, RegisterType.S16), Commanded("targetPosition", 66, RegisterType.S32),
            Commanded("profileVelocity", 68, RegisterType.U32), Commanded("profileAcceleration", 70, RegisterType.U32),
            Commanded("profileDeceleration", 72, RegisterType.U32), Commanded("torqueLimit", 74, RegisterType.U16, 0.1),
            Commanded("digitalOutputs", 75, RegisterType.U16), Commanded("targetVelocity", 76, RegisterType.S32),
            Commanded("quickStopOption", 78, RegisterType.S16),
        ],
        [
            Commanded("communicationTimeout", 128, RegisterType.U16), Told("uptime", 130, RegisterType.U32), Told("serialNumber", 132, RegisterType.U32),
            Told("homed", 134, RegisterType.U16), Commanded("homingMethod", 135, RegisterType.S16), Commanded("homingSpeedFast", 136, RegisterType.U32),
            Commanded("homingSpeedSlow", 138, RegisterType.U32), Commanded("homingAcceleration", 140, RegisterType.U32),
            Commanded("homeOffset", 142, RegisterType.S32),
        ],
        new Dictionary<string, BitReference> { ["input1"] = new("digitalInputs", 0, false), ["input3"] = new("digitalInputs", 2, false) },
        new Dictionary<string, BitReference> { ["valve"] = new("digitalOutputs", 1, false) },
        timeout ?? new CommunicationTimeoutDefinition(TimeoutFeed.AnyFrame, TimeoutReaction.QuickStopThenOff),
        TimeSpan.Zero);

    /// <summary>Plain bits, low word first, numbered from 1, at most 8 registers, no function 23.</summary>
    public static DriveDefinition Bits(CommunicationTimeoutDefinition? timeout = null) => new(
        "Bits",
        new WireDefinition(3, 8, 16, 8, false, WordOrder.LowFirst, 1, TimeSpan.FromMilliseconds(1), [6], false),
        StateCoding.Bits,
        new StateBits(new("status", 0, false), new("status", 1, false), new("status", 2, false), new("status", 3, false), new("status", 4, false)),
        new CommandBits(new("command", 0, false), new("command", 1, true), new("command", 2, false), new("command", 3, true), new("command", 4, true)),
        [
            Told("status", 201, RegisterType.U16), Told("position", 202, RegisterType.S32), Told("velocity", 204, RegisterType.S16, 10),
            Told("torque", 206, RegisterType.S16),
        ],
        [
            Commanded("command", 101, RegisterType.U16), Commanded("targetPosition", 102, RegisterType.S32),
            Commanded("profileVelocity", 104, RegisterType.U16, 10), Commanded("torqueLimit", 105, RegisterType.U16),
        ],
        [Commanded("communicationTimeout", 301, RegisterType.U16), Told("uptime", 303, RegisterType.U32), Told("errorCode", 305, RegisterType.U16)],
        new Dictionary<string, BitReference> { ["guard"] = new("status", 9, false) },
        new Dictionary<string, BitReference>(),
        timeout ?? new CommunicationTimeoutDefinition(TimeoutFeed.Write, TimeoutReaction.QuickStopThenOff),
        TimeSpan.Zero);

    /// <summary>An axis of 180 mm with 1000 counts a mm that homes on its negative limit switch.</summary>
    public static AxisDefinition Axis(DriveDefinition? drive = null, string name = "dibber", byte address = 3) => new(
        name,
        0,
        address,
        drive ?? Words(),
        "mm",
        1000,
        false,
        null,
        new LimitsDefinition(0, 180, 250, 2000, 2000, null),
        new InPositionDefinition(0.05, TimeSpan.FromMilliseconds(20)),
        new FollowingErrorDefinition(2, TimeSpan.FromMilliseconds(60)),
        null,
        new HomingDefinition(17, 40, 5, 0, TimeSpan.FromSeconds(20), 1),
        ReferenceKind.Incremental,
        false,
        null,
        null,
        TimeSpan.FromMilliseconds(250),
        []);

    /// <summary>The same axis, hanging on a brake.</summary>
    public static AxisDefinition Hanging(DriveDefinition? drive = null) => Axis(drive) with
    {
        GravityLoaded = true,
        Brake = new BrakeDefinition(TimeSpan.FromMilliseconds(80), TimeSpan.FromMilliseconds(60)),
    };

    /// <summary>A drum that turns for ever.</summary>
    public static AxisDefinition Drum(HomingDefinition? homing = null) => Axis(null, "drum", 4) with
    {
        Unit = "deg",
        CountsPerUnit = 100,
        EndlessPeriod = 360,
        Limits = new LimitsDefinition(null, null, 720, 3600, 3600, null),
        InPosition = new InPositionDefinition(0.5, TimeSpan.FromMilliseconds(20)),
        FollowingError = null,
        Homing = homing,
        Reference = ReferenceKind.None,
    };

    private static RegisterField Told(string name, int register, RegisterType type, double scale = 1) =>
        new(name, register, type, scale, null, RegisterAccess.Read);

    private static RegisterField Commanded(string name, int register, RegisterType type, double scale = 1) =>
        new(name, register, type, scale, null, RegisterAccess.ReadWrite);
}
