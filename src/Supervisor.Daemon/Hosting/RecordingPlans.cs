using Supervisor.Configuration.Machines;
using Supervisor.Drives.Coding;
using Supervisor.Drives.Exchange;
using Supervisor.History.Recordings;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Runtime;

namespace Supervisor.Daemon.Hosting;

/// <summary>What is recorded of a machine.</summary>
public static class RecordingPlans
{
    /// <summary>As the machine file asks for it.</summary>
    public static RecorderPlan Of(MachineBoard board)
    {
        ArgumentNullException.ThrowIfNull(board);
        var wanted = board.Machine.History.Recordings;
        return new RecorderPlan(wanted.Before, wanted.After, wanted.Longest, AxesOf(board.Machine), board.Traces)
        {
            RingOfAxis = [.. board.Machine.Axes.Select(axis => axis.Port)],
        };
    }

    /// <summary>The axes as recordings and traces name them.</summary>
    public static IReadOnlyList<RecordedAxis> AxesOf(MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        return [.. machine.Axes.Select(axis => new RecordedAxis(
            axis.Name, axis.Unit, machine.Ports[axis.Port].Name, machine.Ports[axis.Port].Cycle,
            axis.CountsPerUnit / Math.Abs(DriveCoding.Create(new ExchangePlan(axis.Drive)).PositionScale), [.. axis.Drive.Inputs.Keys]))];
    }
}
