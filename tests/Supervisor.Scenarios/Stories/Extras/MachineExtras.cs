using System.Globalization;

namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>
/// Invents what a machine has besides axes and interlocks. It draws from dice of its own, so that a machine without it is the one that it
/// always was.
/// </summary>
public sealed class MachineExtras(Dice dice)
{
    private readonly ModuleText _modules = new(dice);
    private readonly ZoneText _zones = new(dice);
    private readonly List<int> _full = [];

    /// <summary>Definitions that its axes may have, by file.</summary>
    public static IReadOnlyList<(string Name, string Text)> Definitions { get; } = [("full.drive.json", ExtraDrives.Full), ("keyed.drive.json", ExtraDrives.Keyed)];

    /// <summary>The drive of an axis in place of the one that was drawn: at times one that can do more.</summary>
    public string Drive(int axis, string drawn)
    {
        var drive = dice.Chance(0.4) ? drawn : drawn == "bits" ? "keyed" : "full";
        if (drive == "full")
        {
            _full.Add(axis);
        }

        return drive;
    }

    /// <summary>Decides what there is on so many ports; before anything else is asked.</summary>
    public void Begin(int ports) => _modules.Draw(ports);

    /// <summary>Modules on a port.</summary>
    public int ModulesOn(int port) => _modules.On(port);

    /// <summary>Interlocks besides those of the axes, to go behind them.</summary>
    public string Interlocks(int axes) => _modules.Interlocks(axes);

    /// <summary>The machine file's further members, each with a comma before it.</summary>
    public string Members(int axes, Func<int, int> cycleMs) => _modules.Members(cycleMs) + _modules.Outputs(_full, axes) + _zones.Members();

    /// <summary>An axis with ends, from 0 to its travel.</summary>
    public void NoteTravel(int axis, double travel) => _zones.Note(axis, travel);

    /// <summary>The brake of an axis whose drive can hold it; null leaves it as it was drawn.</summary>
    public string? Brake(string drive, double velocity)
    {
        if (drive is not ("full" or "keyed") || dice.Chance(0.25))
        {
            return null;
        }

        // Hours of simulated time are minutes of a life.
        var interval = dice.Below(3) switch
        {
            0 => "",
            1 => $$""", "everyHours": {{Number(dice.Between(0.02, 0.15))}} """,
            _ => $$""", "everyHours": {{Number(dice.Between(0.02, 0.15))}}, "whenOverdue": "refuse", "graceHours": {{Number(dice.Between(0, 0.02))}} """,
        };
        var load = dice.Chance(0.6) ? "\"gravityLoaded\": true, \"gravityTorque\": 12, " : "";
        return $$""" {{load}}"brake": { "releaseMs": 80, "closeMs": 60, "proof": { "torque": {{dice.Pick([45, 60, 70])}}, "forMs": {{dice.Pick([200, 500])}}, "movement": {{Number(velocity / 500)}}, "direction": "{{dice.Pick(["both", "positive", "negative"])}}"{{interval}} } }, """;
    }

    /// <summary>Parameters that the machine file fixes for an axis.</summary>
    public string Parameters(string drive)
    {
        if (drive != "full" || dice.Chance(0.4))
        {
            return "";
        }

        var gain = dice.Pick(["12", """{ "value": 12, "onDifference": "refuse" }""", """{ "value": 12, "onDifference": "warn" }"""]);
        var loop = dice.Chance(0.5) ? """, "loop": 80""" : "";
        return $$""" "parameters": { "gain": {{gain}}{{loop}} }, """;
    }

    private static string Number(double value) => value.ToString("0.####", CultureInfo.InvariantCulture);
}
