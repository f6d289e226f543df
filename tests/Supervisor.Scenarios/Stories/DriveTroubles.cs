using Supervisor.Configuration.Machines;

namespace Supervisor.Scenarios.Stories;

/// <summary>What befalls drives and what they carry: restarts, faults, dips of the supply, jams, worn brakes, busy answers.</summary>
public sealed class DriveTroubles(StoryWorld world, Dice dice)
{
    // Numbers as in CiA 402 object 603Fh.
    private static readonly ushort[] Codes = [0x2310, 0x2320, 0x3210, 0x3220, 0x4210, 0x4310, 0x7121, 0x7305, 0x8130, 0x8611, 0x1234];
    private const ushort UnderVoltage = 0x3220;
    private const ushort OverTemperature = 0x4310;

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

    /// <summary>The supply of a line dips: some of its drives start again, the others trip.</summary>
    public void DipSupply()
    {
        var port = dice.Below(world.Machine.Ports.Count);
        world.Happen("supply dipped", world.Machine.Ports[port].Name);
        Dip(axis => world.Machine.Axes[axis].Port == port);
    }

    /// <summary>The supply of the whole machine dips.</summary>
    public void DipAll()
    {
        world.Happen("supply dipped everywhere");
        Dip(_ => true);
    }

    /// <summary>A drive is too hot for a while: it trips, and trips again after every reset until it has cooled.</summary>
    public void Heat()
    {
        var axis = Any();
        world.Happen("drive too hot", Name(axis));
        var cooledAt = world.Queue.Now + dice.Seconds(0.5, 15);
        Overheat(axis, cooledAt);
    }

    /// <summary>Another drive of the same kind is put in, with another serial number and its counts from elsewhere.</summary>
    public void Exchange()
    {
        var axis = Any();
        world.Happen("drive exchanged", Name(axis));
        world.Drive(axis).Exchange((uint)dice.Below(1 << 30));
    }

    /// <summary>The battery of an absolute encoder runs empty; the drive says so until somebody has seen it and put in another.</summary>
    public void EmptyBattery()
    {
        var absolute = Enumerable.Range(0, world.Machine.Axes.Count)
            .Where(axis => world.Machine.Axes[axis] is { Reference: ReferenceKind.Absolute, Drive.BatteryAlarm: not null }).ToArray();
        if (absolute.Length > 0 && dice.Pick(absolute) is var chosen)
        {
            world.Happen("battery empty", Name(chosen));
            world.Drive(chosen).IsBatteryEmpty = true;
            world.Queue.After(dice.Seconds(5, 60), () => ReplaceBattery(chosen));
        }
    }

    private void ReplaceBattery(int axis)
    {
        if (world.Supervisor is null || world.Snapshot(axis) is not { Online: true, Referenced: false })
        {
            world.Queue.After(TimeSpan.FromSeconds(1), () => ReplaceBattery(axis));
            return;
        }

        world.Drive(axis).IsBatteryEmpty = false;
    }

    private void Overheat(int axis, TimeSpan cooledAt)
    {
        if (world.Queue.Now >= cooledAt)
        {
            return;
        }

        if (!world.Drive(axis).IsFaulted && !world.Drive(axis).IsSilent)
        {
            world.Drive(axis).Trip(OverTemperature);
        }

        world.Queue.After(TimeSpan.FromMilliseconds(200), () => Overheat(axis, cooledAt));
    }

    private void Dip(Func<int, bool> concerns)
    {
        for (var axis = 0; axis < world.Machine.Axes.Count; axis++)
        {
            if (!concerns(axis))
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
