using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.Stories;

/// <summary>How a line has been of late, and what that allows: times that hold on a good wire do not on a pulled one.</summary>
public sealed class LineCondition(StoryWorld world, int port)
{
    // A trouble's consequences outlast it: drives are met again, time-outs run.
    private static readonly TimeSpan Memory = TimeSpan.FromSeconds(3);
    private TimeSpan _troubledAt = TimeSpan.MinValue;

    /// <summary>Time from an event on a good line until every drive of it was exchanged: two cycles, and every drive's and module's request lost once with its time-out.</summary>
    public TimeSpan Reaction { get; } = ReactionOf(world, port);

    /// <summary>When the line last lost or spoiled frames, or was pulled.</summary>
    public TimeSpan TroubledAt => _troubledAt;

    /// <summary>True from a trouble on until its consequences are over.</summary>
    public bool IsTroubled => world.Queue.Now - Memory < _troubledAt;

    /// <summary>True when there was a trouble at or after a time.</summary>
    public bool WasTroubledSince(TimeSpan at) => _troubledAt >= at - Memory;

    /// <summary>Notes the present.</summary>
    public void Look()
    {
        if (world.Plant.Lines[port].IsUnplugged || IsAnyBusy() || world.Faults[port] != WireFaults.None)
        {
            _troubledAt = world.Queue.Now;
        }
    }

    // A drive that answers "busy" hears nothing, a stop neither.
    private bool IsAnyBusy()
    {
        foreach (var drive in world.Plant.Lines[port].Drives)
        {
            if (drive.BusyAnswers > 0)
            {
                return true;
            }
        }

        return false;
    }

    private static TimeSpan ReactionOf(StoryWorld world, int port)
    {
        var definition = world.Machine.Ports[port];
        var units = world.Machine.Axes.Count(axis => axis.Port == port) + world.Machine.Modules.Count(module => module.Port == port);
        var attempt = definition.ResponseTimeout + world.Plant.Lines[port].Line.CharacterTime(80) + TimeSpan.FromMilliseconds(4);
        return (definition.Cycle * 2) + (attempt * units * 2) + (SupervisorPeriod * 2);
    }

    private static readonly TimeSpan SupervisorPeriod = Supervisor.Scenarios.World.SupervisorProcess.CoordinatorPeriod;
}
