using Supervisor.Records.Faults;
using Supervisor.Simulation.Drives;

namespace Supervisor.Scenarios.Stories;

/// <summary>What befalls drives and what they carry: restarts, faults, dips of the supply, jams, worn brakes, busy answers.</summary>
public sealed class DriveTroubles(StoryWorld world, Dice dice)
{
    // Numbers as in CiA 402 object 603Fh.
    private static readonly ushort[] Codes = [0x2310, 0x2320, 0x3210, 0x3220, 0x4210, 0x4310, 0x7121, 0x7305, 0x8130, 0x8611, 0x1234];
    private const ushort UnderVoltage = 0x3220;

    public void Restart()
    {
        var axis = Any();
        world.Happen("drive restarted", Name(axis));
        RestartDrive(axis);
    }

    public void Trip()
    {
        var (axis, code) = (Any(), dice.Pick(Codes));
        world.Happen("drive tripped", $"{Name(axis)} {code:X4}");
        world.Drive(axis).Trip(code);
    }

    /// <summary>The supply dips: some of a line's drives start again, the others trip.</summary>
    public void DipSupply()
    {
        var port = dice.Below(world.Machine.Ports.Count);
        world.Happen("supply dipped", world.Machine.Ports[port].Name);
        for (var axis = 0; axis < world.Machine.Axes.Count; axis++)
        {
            if (world.Machine.Axes[axis].Port != port)
            {
                continue;
            }

            if (dice.Chance(0.5))
            {
                RestartDrive(axis);
            }
            else
            {
                world.Drive(axis).Trip(UnderVoltage);
            }
        }
    }

    public void Jam()
    {
        var axis = Any();
        var plant = world.Drive(axis).Plant;
        world.Happen("axis jammed", Name(axis));
        plant.Jammed = true;
        world.Queue.After(dice.Seconds(0.05, 4), () => plant.Jammed = false);
    }

    public void WearBrake()
    {
        var braked = Enumerable.Range(0, world.Machine.Axes.Count).Where(axis => world.Machine.Axes[axis].Brake is not null).ToArray();
        if (braked.Length > 0)
        {
            var plant = world.Drive(dice.Pick(braked)).Plant;
            world.Happen("brake worn");
            plant.BrakeWorn = true;
            world.Queue.After(dice.Seconds(1, 20), () => plant.BrakeWorn = false);
        }
    }

    public void AnswerBusy()
    {
        var axis = Any();
        world.Happen("busy answers", Name(axis));
        world.Drive(axis).BusyAnswers = 1 + dice.Below(12);
    }

    private string Name(int axis) => world.Machine.Axes[axis].Name;

    private int Any() => dice.Below(world.Machine.Axes.Count);

    private void RestartDrive(int axis) => world.Drive(axis).Restart();
}
