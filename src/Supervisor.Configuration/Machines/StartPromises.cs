using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>What no definition says of how a drive starts, and a stop would have to know.</summary>
public static class StartPromises
{
    /// <summary>Warnings, one line each, with the member they are about in front.</summary>
    public static IReadOnlyList<string> Missing(MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        var warnings = new List<string>();
        for (var i = 0; i < machine.Axes.Count; i++)
        {
            if (machine.Axes[i] is { Drive: { Coding: not StateCoding.Cia402, ShortestStart: null } drive } axis)
            {
                warnings.Add(
                    $"axes[{i}].definition: a stop of {Show.Quoted(axis.Name)} that falls into a silence below communicationTimeoutMs {Show.Number(axis.CommunicationTimeout.TotalMilliseconds)} carries the power bit, "
                    + $"and a drive that started anew meanwhile gets its torque back by it; give {Show.Quoted(drive.Name)} its shortestStartMs");
            }
        }

        return warnings;
    }
}
