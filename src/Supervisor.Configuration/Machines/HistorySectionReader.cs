using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads how what happens is kept.</summary>
internal static class HistorySectionReader
{
    private const double ShortestWindowMs = 100;
    private const double LongestWindowMs = 600_000;
    private const double LeastWrittenMB = 1;
    private const double MostWrittenMB = 100_000;
    private const double FewestRecords = 100;
    private const double MostRecords = 1_000_000;
    private const double Megabyte = 1e6;

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
        var written = history.Number("writtenMBPerDay", new NumberRange(LeastWrittenMB, MostWrittenMB, "MB"), HistoryDefinition.Default.BytesPerDay / Megabyte);
        return new HistoryDefinition(Milliseconds.ToTime(window))
        {
            Recordings = recordings,
            BytesPerDay = (long)(written * Megabyte),
            RecordsPerKind = history.Integer("recordsPerKind", new NumberRange(FewestRecords, MostRecords, ""), HistoryDefinition.Default.RecordsPerKind) ?? HistoryDefinition.Default.RecordsPerKind,
        };
    }
}
