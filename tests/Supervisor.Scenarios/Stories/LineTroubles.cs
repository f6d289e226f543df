using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.Stories;

/// <summary>What befalls lines: noise, lost and late replies, pulled plugs.</summary>
public sealed class LineTroubles(StoryWorld world, Dice dice)
{
    private static readonly TimeSpan LongestOutage = TimeSpan.FromSeconds(8);

    /// <summary>A wire is bad for a while, and good again.</summary>
    public void SpoilWire()
    {
        var port = dice.Below(world.Faults.Length);
        var level = dice.Chance(0.2) ? 0.2 : 0.03;

        // The master knows late replies for as long again as it waits for them; one that comes later still can't be told from the next.
        var slack = world.Machine.Ports[port].ResponseTimeout * 1.5;
        world.Happen("wire spoilt", world.Machine.Ports[port].Name);
        Put(port, new WireFaults(Level(level), Level(level), Level(level), Level(level), Level(level), Level(level), slack));
        world.Queue.After(dice.Seconds(0.5, 15), () => Put(port, WireFaults.None));
    }

    /// <summary>A plug is pulled and put back.</summary>
    public void PullPlug()
    {
        var port = dice.Below(world.Faults.Length);
        world.Happen("plug pulled", world.Machine.Ports[port].Name);
        world.Plant.Lines[port].IsUnplugged = true;
        var time = dice.Chance(0.5) ? dice.Seconds(0.01, 0.5) : LongestOutage * dice.Between(0.05, 1);
        world.Queue.After(time, () => world.Plant.Lines[port].IsUnplugged = false);
    }

    private double Level(double most) => dice.Chance(0.5) ? 0 : dice.Between(0, most);

    private void Put(int port, WireFaults faults)
    {
        world.Faults[port] = faults;
        if (world.Supervisor is { } supervisor)
        {
            supervisor.Ports[port].Wire.Faults = faults;
        }
    }
}
