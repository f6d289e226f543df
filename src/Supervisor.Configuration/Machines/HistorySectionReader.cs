using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads how what happens is kept.</summary>
internal static class HistorySectionReader
{
    private const double ShortestWindowMs = 100;
    private const double LongestWindowMs = 600_000;

    public static HistoryDefinition Read(ObjectReader machine, IReadOnlyList<PortDraft> ports, IReadOnlyList<AxisDraft> axes)
    {
        var section = machine.Object("history", MachineShapes.History);
        var recordings = RecordingsReader.Read(section);
        RecordingsReader.CheckMemory(recordings, section ?? machine, section is null ? "history" : "recordings.secondsBefore", ports, axes);
        if (section is not { } history)
        {
            return HistoryDefinition.Default;
        }

        var window = history.Number(
            "incidentWindowMs", new NumberRange(ShortestWindowMs, LongestWindowMs, Milliseconds.Unit), HistoryDefinition.Default.IncidentWindow.TotalMilliseconds);
        return new HistoryDefinition(Milliseconds.ToTime(window)) { Recordings = recordings };
    }
}
