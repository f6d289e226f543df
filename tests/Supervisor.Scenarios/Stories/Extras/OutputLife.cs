using Supervisor.Machine.Api;

namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>Outputs that people set, and modules: without supply, unplugged, with outputs that are short-circuited or a time-out that can't be set.</summary>
public sealed class OutputLife(StoryWorld world, Dice dice, People people)
{
    /// <summary>Somebody sets an output.</summary>
    public void Set()
    {
        if (world.Machine.Outputs.Count > 0)
        {
            people.Give(new SetOutputCommand(-1, dice.Pick(world.Machine.Outputs).Name, dice.Chance(0.6)));
        }
    }

    /// <summary>A module loses its supply for a moment.</summary>
    public void RestartModule() => Befall("module restarted", module => world.Plant.Modules[module].Restart());

    /// <summary>A module's plug is pulled and put back.</summary>
    public void UnplugModule() => Befall("module unplugged", module =>
    {
        world.Plant.Modules[module].IsUnplugged = true;
        world.Queue.After(dice.Chance(0.5) ? dice.Seconds(0.02, 0.5) : dice.Seconds(0.5, 8), () => world.Plant.Modules[module].IsUnplugged = false);
    });

    /// <summary>An output is short-circuited for a while.</summary>
    public void ShortOutput() => Befall("module output shorted", module =>
    {
        var bit = dice.Pick([2, 5]);
        world.Plant.Modules[module].Shorted.Add(bit);
        world.Queue.After(dice.Seconds(1, 15), () => world.Plant.Modules[module].Shorted.Remove(bit));
    });

    /// <summary>A module takes no value for its time-out for a while, and has just lost what it had.</summary>
    public void MakeStubborn() => Befall("module stubborn", module =>
    {
        world.Plant.Modules[module].IsStubborn = true;
        world.Plant.Modules[module].Restart();
        world.Queue.After(dice.Seconds(2, 10), () => world.Plant.Modules[module].IsStubborn = false);
    });

    private void Befall(string what, Action<int> happen)
    {
        if (world.Machine.Modules.Count > 0 && dice.Below(world.Machine.Modules.Count) is var module)
        {
            world.Happen(what, world.Machine.Modules[module].Name);
            world.Plant.Modules[module].Advance(world.Queue.Now);
            happen(module);
        }
    }
}
