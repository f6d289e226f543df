using Supervisor.Machine.Api;
using Supervisor.Records.Axes;

namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>People at a machine with zones: where an axis does not know its place, somebody looks and vouches for it.</summary>
public sealed class ZoneLife(StoryWorld world, Dice dice, People people)
{
    /// <summary>Somebody homes an axis that lost its zero, and confirms that it is out of the others' way.</summary>
    public void Vouch()
    {
        if (world.Machine.Zones.Count == 0 || world.Supervisor?.Coordinator.Control.Status() is not { } status)
        {
            return;
        }

        var lost = Enumerable.Range(0, status.Axes.Count).Where(axis => status.Axes[axis] is { State: AxisState.Disabled, Referenced: false, Online: true }).ToArray();
        if (lost.Length > 0)
        {
            people.StandBack(dice.Seconds(1, 6));
            people.Give(new HomeCommand([dice.Pick(lost)], Confirmed: true));
        }
    }
}
