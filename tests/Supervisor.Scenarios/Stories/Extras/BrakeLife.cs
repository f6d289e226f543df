using Supervisor.Machine.Api;
using Supervisor.Machine.Brakes;
using Supervisor.Records.Axes;

namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>Brakes: people who have them proven, and linings that wear.</summary>
public sealed class BrakeLife(StoryWorld world, Dice dice, People people, InterlockTroubles interlocks)
{
    // Number as in CiA 402 object 603Fh.
    private const ushort UnderVoltage = 0x3220;


    private readonly int[] _proven = [.. Enumerable.Range(0, world.Machine.Axes.Count).Where(axis => world.Machine.Axes[axis].Brake?.Proof is not null)];

    /// <summary>Somebody has brakes proven: mostly with the machine at rest, at times in the midst of its work.</summary>
    public void Prove()
    {
        if (_proven.Length > 0)
        {
            Prove(dice.Chance(0.7) ? [dice.Pick(_proven)] : _proven);
        }
    }

    /// <summary>Somebody who reads what the machine tells has the brakes proven that are due.</summary>
    public void ProveWhatIsDue()
    {
        var due = world.Supervisor?.Coordinator.Control.Status().Axes
            .Select((axis, index) => (axis, index))
            .Where(pair => pair.axis is { State: AxisState.Ready, BrakeProof.State: BrakeProofState.Overdue or BrakeProofState.Failed })
            .Select(pair => pair.index).ToArray() ?? [];
        if (due.Length > 0 && dice.Chance(0.5))
        {
            Prove([dice.Pick(due)]);
        }
    }

    /// <summary>A lining is oily or worn: it still carries the load, or hardly.</summary>
    public void Weaken()
    {
        if (_proven.Length > 0 && dice.Pick(_proven) is var axis)
        {
            var plant = world.Drive(axis).Plant;
            var before = plant.Settings.BrakeTorque;
            plant.BrakeTorque = dice.Between(5, 90);
            world.Happen("brake weakened", $"{world.Machine.Axes[axis].Name} {plant.BrakeTorque:0.#}");
            world.Queue.After(dice.Seconds(2, 60), () => plant.BrakeTorque = before);
        }
    }

    private void Prove(int[] axes)
    {
        if (dice.Chance(0.8))
        {
            people.StandBack(dice.Seconds(4, 9));
            people.Give(new HaltCommand([]));
        }

        world.Queue.After(dice.Seconds(0.1, 2), () =>
        {
            people.Give(new ProveBrakeCommand(axes));
            if (dice.Chance(0.4))
            {
                world.Queue.After(dice.Seconds(0.02, 1.8), () => BreakOff(dice.Pick(axes)));
            }
        });
    }

    /// <summary>Something comes between, as likely as not while the motor pushes.</summary>
    private void BreakOff(int axis)
    {
        world.Happen("something in a proof", world.Machine.Axes[axis].Name);
        switch (dice.Below(7))
        {
            case 0:
                people.Give(new StopCommand([axis]));
                break;
            case 1:
                people.Give(new HaltCommand([]));
                break;
            case 2:
                people.Give(new DisableCommand([axis]));
                break;
            case 3:
                world.Drive(axis).Trip(UnderVoltage);
                break;
            case 4:
                KeepTorqueLow(axis);
                break;
            default:
                interlocks.TripFromElsewhere();
                break;
        }
    }

    /// <summary>The drive keeps its torque below what it was allowed, as one that is too warm does.</summary>
    private void KeepTorqueLow(int axis)
    {
        var drive = world.Drive(axis);
        drive.LargestTorqueLimit = 35;
        world.Queue.After(TimeSpan.FromSeconds(10), () => drive.LargestTorqueLimit = double.PositiveInfinity);
    }
}
