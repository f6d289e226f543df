using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Zones;

/// <summary>
/// Two carriages on one rail that come from its two ends, an arm on a rail that crosses theirs, and a lift on the right carriage that must
/// be up while that moves. What really collides is told by the plants: bodies a little smaller than the zones, as on a real machine.
/// </summary>
internal static class Rails
{
    /// <summary>Where the right carriage's zero lies on the left one's scale, mm.</summary>
    public const double RightZero = 1000;

    /// <summary>By how much each axis may pass a zone's border without harm, mm, where the prediction keeps them out: its in-position window and some more.</summary>
    public const double Predicted = 1;

    /// <summary>The same where only the watch does: that lets an axis be off its place by its following error limit of 2 mm.</summary>
    public const double Watched = 3;

    private const double Distance = 80;

    private const string Limits = """ "velocity": 300, "acceleration": 2000, "deceleration": 2000 """;

    private const string Zones = """
        { "name": "rail", "pair": ["left", "right"], "distance": 80, "offset": 1000, "inverted": true },
        { "name": "crossing", "pair": [ { "axis": "left", "between": [300, 420] }, { "axis": "arm", "between": [100, 200] } ] },
        { "name": "lift up", "axis": "right", "movesOnlyWhile": { "axis": "lift", "between": [0, 20] } }
        """;

    /// <summary>The machine, with absolute encoders unless told otherwise.</summary>
    public static MachineDefinition Machine(string reference = "\"reference\": \"absolute\"", string zones = Zones, string homing = "")
    {
        var order = 0;
        string Axis(string name, string port, int address, double travel) => $$"""
            { "name": "{{name}}", "port": "{{port}}", "address": {{address}}, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 1000,
              "limits": { "position": [0, {{travel}}], {{Limits}} }, "inPosition": { "window": 0.1, "dwellMs": 20 }, "followingError": { "limit": 2, "forMs": 60 },
              "homing": { "method": 17, "fast": 60, "slow": 10, "offset": 0, "timeoutMs": 30000, "order": {{++order}}{{homing}} }, "communicationTimeoutMs": 300, {{reference}} }
            """;
        return Machines.Read($$"""
            { "machine": { "name": "Crossing rails" },
              "ports": [
                { "name": "line-a", "device": "/dev/ttyS0", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 20, "gap": "proportional", "responseTimeoutMs": 5, "retries": 1 },
                { "name": "line-b", "device": "/dev/ttyS1", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 20, "gap": "proportional", "responseTimeoutMs": 5, "retries": 1 } ],
              "axes": [ {{Axis("lift", "line-b", 2, 60)}}, {{Axis("arm", "line-b", 3, 400)}}, {{Axis("left", "line-a", 1, 800)}}, {{Axis("right", "line-b", 1, 800)}} ],
              "zones": [ {{zones}} ] }
            """);
    }

    /// <summary>What touches, or moves where it must not, right now: from the plants alone; null when nothing does.</summary>
    /// <param name="world">The drives and plants.</param>
    /// <param name="spare">By how much the bodies are smaller than their zones to each side, mm.</param>
    /// <param name="nearer">By how much nearer than told to the supervisor the carriages really are, mm.</param>
    public static string? Collision(SimulatedWorld world, double spare = Predicted, double nearer = 0)
    {
        var left = world.Drive("left").Plant;
        var right = world.Drive("right").Plant;
        var arm = world.Drive("arm").Plant.Position;
        var lift = world.Drive("lift").Plant.Position;
        var apart = RightZero - nearer - right.Position - left.Position;
        return apart < Distance - (2 * spare) ? $"carriages are {apart:0.##} mm apart"
            : left.Position > 300 + spare && left.Position < 420 - spare && arm > 100 + spare && arm < 200 - spare ? $"left at {left.Position:0.##} hits the arm at {arm:0.##}"
            : Math.Abs(right.Velocity) > 5 && lift > 20 + spare ? $"right moves with {right.Velocity:0.##} mm/s under a lift at {lift:0.##}"
            : null;
    }

    /// <summary>A machine whose axes were met, with authority taken.</summary>
    public static SupervisedMachine Started(ulong seed, MachineDefinition? definition = null)
    {
        var machine = new SupervisedMachine(definition ?? Machine(), seed);
        machine.RunUntil(() => machine.Control.Status().Axes.All(axis => axis.Online), 10, "every axis met");
        machine.Grant = machine.Control.TryAcquire("operator", out var refusal);
        Assert.Null(refusal);
        machine.Run(1);
        return machine;
    }

    /// <summary>Every axis enabled, the carriages at their ends 1000 mm apart, the arm out of the way, the lift up.</summary>
    public static SupervisedMachine Apart(ulong seed, MachineDefinition? definition = null)
    {
        var machine = Started(seed, definition);

        // Where the axes stand when it is switched on is drawn: not every draw is a sound machine.
        while (Collision(machine.World) is not null || machine.Control.Status().Zones.Any(zone => zone.HeldBy.Count > 1))
        {
            machine = Started(++seed, definition);
        }

        machine.Done(new EnableCommand(machine.Axes("lift", "arm", "left", "right")));

        // What stands in another's way from the beginning goes first.
        string[] names = ["lift", "arm", "left", "right"];
        for (var round = 0; round < 4 && names.Any(name => machine.Axis(name).Position > 1); round++)
        {
            foreach (var name in names)
            {
                machine.Do(machine.Move(name, 0));
            }
        }

        Assert.All(names, name => Assert.Equal(0, machine.Axis(name).Position, 0.2));
        machine.Run(0.1);
        return machine;
    }
}
