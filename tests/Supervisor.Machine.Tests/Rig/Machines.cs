using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Tests.Rig;

/// <summary>The tray seeder in code: two ports, four axes, three interlocks.</summary>
internal static class Machines
{
    public const int Tray = 0;
    public const int Gantry = 1;
    public const int Dibber = 2;
    public const int Drum = 3;
    public const int EmergencyStop = 0;
    public const int Guard = 1;
    public const int Vacuum = 2;

    public static DriveDefinition Drive { get; } = new(
        "Reference drive",
        new WireDefinition(3, 32, 16, 32, true, WordOrder.HighFirst, 0, TimeSpan.Zero, [], false),
        StateCoding.Cia402, null, null,
        [new RegisterField("torque", 5, RegisterType.S16, 0.1, null, RegisterAccess.Read)],
        [new RegisterField("torqueLimit", 74, RegisterType.U16, 0.1, null, RegisterAccess.ReadWrite)],
        [],
        new Dictionary<string, BitReference>(),
        new Dictionary<string, BitReference> { ["lamp"] = new("digitalOutputs", 0, false), ["valve"] = new("digitalOutputs", 1, false) },
        null, TimeSpan.Zero);

    public static MachineDefinition Seeder(
        IReadOnlyList<RecoveryDefinition>? dibberRecovery = null,
        IReadOnlyList<RecoveryDefinition>? gantryRecovery = null,
        Func<IReadOnlyList<InterlockDefinition>, IReadOnlyList<InterlockDefinition>>? interlocks = null)
    {
        IReadOnlyList<InterlockDefinition> all =
        [
            new("emergency stop", InterlockKind.EmergencyStop, [Input(Tray, "tray.input1"), Input(Tray, "tray.input2")], Ms(100), 1,
                [Tray, Gantry, Dibber, Drum], Input(Tray, "tray.input3"), TimeSpan.Zero, Ms(250)),
            new("front guard", InterlockKind.Guard, [Input(Gantry, "gantry.input1")], null, 1, [Gantry, Dibber], Input(Tray, "tray.input3"), TimeSpan.Zero, Ms(250)),
            new("vacuum", InterlockKind.Process, [Input(Drum, "drum.input1")], null, 2, [Drum], null, Ms(500), Ms(250)),
        ];
        return new MachineDefinition(
            "Tray seeder",
            [Port("line-a"), Port("line-b")],
            [
                Axis("tray", 0, 1, "mm", new LimitsDefinition(null, null, 400, 2000, 2000, null), endless: 1000, reference: ReferenceKind.None),
                Axis("gantry", 0, 2, "mm", new LimitsDefinition(0, 800, 500, 3000, 3000, null), homingOrder: 2, group: 0, recovery: gantryRecovery),
                Axis("dibber", 1, 3, "mm", new LimitsDefinition(0, 180, 250, 2000, 2000, 40000), homingOrder: 1, group: 0, contact: 25, recovery: dibberRecovery),
                Axis("drum", 1, 4, "deg", new LimitsDefinition(null, null, 720, 3600, 3600, null), endless: 360, reference: ReferenceKind.None),
            ],
            interlocks is null ? all : interlocks(all),
            [new GroupDefinition("head", [Gantry, Dibber])]);
    }

    public static RecoveryDefinition LinkRule(int attempts = 3, RecoveryAction then = RecoveryAction.ResetAndHome) =>
        new([FaultClass.Link], attempts, TimeSpan.FromSeconds(60), then);

    public static InputReference Input(int axis, string text) => new(text, InputSource.Drive, axis, new BitReference("digitalInputs", 0, false), null);

    private static TimeSpan Ms(double ms) => TimeSpan.FromMilliseconds(ms);

    private static PortDefinition Port(string name) =>
        new(name, $"/dev/{name}", 115200, ParityKind.None, 1, Ms(40), new GapDefinition(GapKind.Standard, TimeSpan.Zero), Ms(20), 2);

    private static AxisDefinition Axis(
        string name, int port, byte address, string unit, LimitsDefinition limits, double? endless = null,
        ReferenceKind reference = ReferenceKind.Incremental, int? homingOrder = null, int? group = null, double? contact = null,
        IReadOnlyList<RecoveryDefinition>? recovery = null) => new(
            name, port, address, Drive, unit, 1000, false, endless, limits, new InPositionDefinition(0.05, Ms(20)), null,
            contact is { } torque ? new TorqueDefinition(30, 100, 60, torque, 150) : null,
            homingOrder is { } order ? new HomingDefinition(17, 40, 5, 0, TimeSpan.FromSeconds(20), order) : null,
            reference, false, null, group, Ms(250), recovery ?? []);
}
