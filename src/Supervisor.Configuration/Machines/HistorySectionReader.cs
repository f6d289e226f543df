using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads how what happens is kept.</summary>
internal static class HistorySectionReader
{
    private const double ShortestWindowMs = 100;
    private const double LongestWindowMs = 600_000;

    public static HistoryDefinition Read(ObjectReader machine)
    {
        if (machine.Object("history", MachineShapes.History) is not { } history)
        {
            return HistoryDefinition.Default;
        }

        var window = history.Number(
            "incidentWindowMs", new NumberRange(ShortestWindowMs, LongestWindowMs, Milliseconds.Unit), HistoryDefinition.Default.IncidentWindow.TotalMilliseconds);
        return new HistoryDefinition(Milliseconds.ToTime(window));
    }
}
