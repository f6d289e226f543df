using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Recovery;

/// <summary>That an axis goes slowly since it did not follow. Fixed size: it crosses between the coordinator's thread and whoever writes it down.</summary>
public struct ReducedSpeedNote
{
    /// <summary>Counts the changes of this run; 0: it is as an earlier run left it.</summary>
    public int Version;

    /// <summary>Percent of the speed asked for, above 0 to 100; 0: not reduced.</summary>
    public double Percent;

    /// <summary>Where it did not follow, unit; NaN: not known, and never passed.</summary>
    public double Place;

    /// <summary>Where it was to go, unit; NaN: not known.</summary>
    public double Target;

    /// <summary>What the machine file leaves an axis of its speed after a following error, percent; 0: it does not come back by itself.</summary>
    public static double PercentOf(AxisDefinition axis)
    {
        ArgumentNullException.ThrowIfNull(axis);
        return axis.Recovery.FirstOrDefault(rule => rule.Faults.Contains(FaultClass.Following))?.SpeedPercent ?? 0;
    }
}
