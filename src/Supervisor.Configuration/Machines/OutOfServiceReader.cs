using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads for how long alarms may be out of service.</summary>
internal static class OutOfServiceReader
{
    private const double ShortestMinutes = 1;
    private const double LongestMinutes = 24 * 60;

    public static OutOfServiceDefinition Read(ObjectReader machine)
    {
        if (machine.Object("outOfService", MachineShapes.OutOfService) is not { } section)
        {
            return OutOfServiceDefinition.Default;
        }

        var minutes = section.Number("longestMinutes", new NumberRange(ShortestMinutes, LongestMinutes, "min"), OutOfServiceDefinition.Default.Longest.TotalMinutes);
        return new OutOfServiceDefinition(TimeSpan.FromMinutes(double.IsFinite(minutes) ? minutes : OutOfServiceDefinition.Default.Longest.TotalMinutes));
    }
}
