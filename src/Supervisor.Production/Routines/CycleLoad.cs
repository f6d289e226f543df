using Supervisor.Machine.Api;

namespace Supervisor.Production.Routines;

/// <summary>How one axis was loaded in one run of a routine.</summary>
/// <param name="Axis">Index in the machine file.</param>
/// <param name="Name">Its name.</param>
/// <param name="TorqueRmsPercent">
/// Root mean square of its torque, √(ΣT²t/Σt), percent of rated: what stays above 100 overloads the motor however the peaks look.
/// </param>
/// <param name="Known">Time of the run in which the torque was known; shorter than the run where the drive was not heard.</param>
public sealed record AxisLoad(int Axis, string Name, double TorqueRmsPercent, TimeSpan Known);

/// <summary>Takes the load of every axis from one status to another.</summary>
public static class CycleLoad
{
    /// <summary>One entry an axis whose drive reported torque in between, in the machine file's order.</summary>
    public static IReadOnlyList<AxisLoad> Between(MachineStatus before, MachineStatus after)
    {
        ArgumentNullException.ThrowIfNull(before);
        ArgumentNullException.ThrowIfNull(after);
        var loads = new List<AxisLoad>();
        for (var axis = 0; axis < after.Axes.Count; axis++)
        {
            var (from, to) = (before.Axes[axis].TorqueLoad, after.Axes[axis].TorqueLoad);
            var rms = to.RmsSince(from);
            if (double.IsFinite(rms))
            {
                loads.Add(new AxisLoad(axis, after.Axes[axis].Name, rms, TimeSpan.FromSeconds(to.Seconds - from.Seconds)));
            }
        }

        return loads;
    }
}
