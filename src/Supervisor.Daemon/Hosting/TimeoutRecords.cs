using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.History.Entries;
using Supervisor.Machine.Timeouts;
using Supervisor.Records.Stops;

namespace Supervisor.Daemon.Hosting;

/// <summary>What was measured as the history keeps it.</summary>
internal static class TimeoutRecords
{
    public static TimeoutProofRecord Of(MachineDefinition machine, in MeasuredTimeout measured, string holder)
    {
        var axis = machine.Axes[measured.Axis];
        return new TimeoutProofRecord(
            measured.SilentFrom, axis.Name, axis.Unit, measured.Verdict, TimeoutTexts.Word(axis.Drive.CommunicationTimeout?.Reaction ?? TimeoutReaction.QuickStopThenOff),
            measured.Timeout, measured.Silence, measured.Velocity, measured.Distance, double.IsFinite(measured.Allowed) ? measured.Allowed : null)
        {
            RestAfter = Seen(measured.RestAfter),
            OffAfter = Seen(measured.OffAfter),
            ActedAfter = Seen(measured.ActedAfter),
            DriveCode = measured.DriveCode,
            CommandId = measured.CommandId,
            Holder = holder,
        };
    }

    private static TimeSpan? Seen(TimeSpan time) => time == TimeSpan.MaxValue ? null : time;
}
