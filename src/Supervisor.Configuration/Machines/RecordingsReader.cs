using Supervisor.Configuration.Reading;
using Supervisor.Records.Tracing;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads how the samples around faults and stops are kept.</summary>
internal static class RecordingsReader
{
    private const double BytesOfMB = 1_000_000;

    private static readonly NumberRange Around = new(1, 60, "s");
    private static readonly NumberRange Length = new(2, 120, "s");
    private static readonly NumberRange Room = new(1, 4_000, "MB");

    /// <summary>What the section says of recordings; defaults where it says nothing.</summary>
    public static RecordingsDefinition Read(ObjectReader? history)
    {
        var plain = RecordingsDefinition.Default;
        if (history?.Object("recordings", MachineShapes.Recordings) is not { } reader)
        {
            return plain;
        }

        var before = reader.Number("secondsBefore", Around, plain.Before.TotalSeconds);
        var after = reader.Number("secondsAfter", Around, plain.After.TotalSeconds);
        var longest = reader.Number("longestSeconds", Length, Math.Max(plain.Longest.TotalSeconds, double.IsNaN(before + after) ? 0 : before + after));
        var keep = reader.Number("keepMB", Room, plain.KeepBytes / BytesOfMB);
        if (longest < before + after)
        {
            reader.Refuse("longestSeconds", $"must be at least secondsBefore and secondsAfter together, {Show.Number(before + after)} s");
        }

        return new RecordingsDefinition(Seconds(before), Seconds(after), Seconds(longest), double.IsNaN(keep) ? plain.KeepBytes : (long)(keep * BytesOfMB));
    }

    /// <summary>Tells rings that take more memory than a board has to spare.</summary>
    public static void CheckMemory(RecordingsDefinition recordings, ObjectReader at, string member, IReadOnlyList<PortDraft> ports, IReadOnlyList<AxisDraft> axes)
    {
        var needed = ports.Select((port, index) => port.Definition.Cycle <= TimeSpan.Zero ? 0 : TraceMemory.Bytes(TraceMemory.Samples(
            axes.Count(axis => axis.Definition?.Port == index), port.Definition.Cycle, recordings.Before))).Sum();
        if (needed > TraceMemory.MaximumBytes)
        {
            at.Refuse(
                member,
                $"of {Show.Number(recordings.Before.TotalSeconds)} s takes {Show.Number(Math.Ceiling(needed / BytesOfMB))} MB of memory for the samples of {axes.Count} axes at these cycles; at most {Show.Number(Math.Floor(TraceMemory.MaximumBytes / BytesOfMB))} MB are allowed: keep fewer seconds, or choose longer cycles");
        }
    }

    private static TimeSpan Seconds(double seconds) => Milliseconds.ToTime(seconds * 1000);
}
