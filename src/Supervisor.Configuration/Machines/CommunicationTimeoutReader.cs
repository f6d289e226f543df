using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads the silence after which a drive stops by itself.</summary>
/// <remarks>Left out: five cycles and 50 ms. At least three cycles and 50 ms, so that neither a lost frame nor a collection stops the machine.</remarks>
internal static class CommunicationTimeoutReader
{
    private const double LongestMs = 60_000;
    private const double PauseMs = 50;
    private const int LeastCycles = 3;
    private const int DefaultCycles = 5;

    public static TimeSpan Read(ObjectReader axis, DriveDefinition? drive, double cycleMs)
    {
        var member = axis.Find("communicationTimeoutMs");
        var timeoutMs = axis.Number(
            "communicationTimeoutMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), (DefaultCycles * cycleMs) + PauseMs);
        if (member is null)
        {
            return Milliseconds.ToTime(timeoutMs);
        }

        var leastMs = (LeastCycles * cycleMs) + PauseMs;
        if (timeoutMs < leastMs)
        {
            axis.Refuse(
                "communicationTimeoutMs",
                $"{Show.Number(timeoutMs)} ms is too short: at least {LeastCycles} cycles of {Show.Number(cycleMs)} ms and {PauseMs} ms, {Show.Number(leastMs)} ms");
        }

        if (drive is not null)
        {
            CheckDrive(axis, drive, timeoutMs, cycleMs);
        }

        return Milliseconds.ToTime(timeoutMs);
    }

    private static void CheckDrive(ObjectReader axis, DriveDefinition drive, double timeoutMs, double cycleMs)
    {
        if (drive.CommunicationTimeout is null && drive.Parameter(FieldNames.CommunicationTimeout) is null)
        {
            axis.Refuse(
                "communicationTimeoutMs",
                $"drive {Show.Quoted(drive.Name)} declares no communicationTimeout, neither the object nor a parameter: it would not stop by itself");
        }
        else if (drive.CommunicationTimeout?.FedBy == TimeoutFeed.Write && drive.Refresh.TotalMilliseconds + cycleMs >= timeoutMs)
        {
            axis.Refuse(
                "communicationTimeoutMs",
                $"{Show.Number(timeoutMs)} ms is not above refreshMs {Show.Number(drive.Refresh.TotalMilliseconds)} of drive {Show.Quoted(drive.Name)} and a cycle: only writes feed its time-out");
        }
    }
}
