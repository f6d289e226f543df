using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests;

/// <summary>Statuses to begin from.</summary>
internal static class Samples
{
    public static AxisStatus Axis(string name) =>
        new(name, AxisState.Ready, AxisDetail.None, true, true, 1.5, 0, 2.1, 1.5, "mm", [], FaultCode.None, 0, 0, 0, false);

    public static MachineStatus Status(params AxisStatus[] axes) => new(
        TimeSpan.FromSeconds(1), "Tray seeder", "production", true, null, axes,
        [new InterlockStatus("front guard", false, false, [], "")],
        [
            new PortStatus("line-a", true, 40, 12_345, 0, 8.1, 8.6)
            {
                HeartbeatAgeMs = 12, Overruns = new CycleOverruns(7, 130), OverrunsLastMinute = new CycleOverruns(1, 44), OverrunsLastHour = new CycleOverruns(3, 90),
            },
        ]);
}
