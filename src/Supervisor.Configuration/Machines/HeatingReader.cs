using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads the model of the motor's heating.</summary>
/// <remarks>Left out: not modelled. In it left out: rated torque as the torque that may be kept for ever, a warning at 90 %.</remarks>
internal static class HeatingReader
{
    private const double Rated = 100;
    private const double DefaultWarning = 90;

    // A motor's winding takes seconds to minutes, its body up to hours.
    private const double LongestTimeConstantS = 36_000;

    public static HeatingDefinition? Read(ObjectReader axis, DriveDraft? drive)
    {
        if (axis.Object("heating", MachineShapes.Heating) is not { } heating)
        {
            return null;
        }

        if (drive is { IsGood: true } good && good.Definition.FeedbackField(FieldNames.Torque) is null)
        {
            axis.Refuse("heating", $"drive {Show.Quoted(good.Definition.Name)} declares no feedback field {Show.Quoted(FieldNames.Torque)}: nothing tells how the motor is loaded");
        }

        var seconds = heating.Number("timeConstantS", NumberRange.Above0("s", LongestTimeConstantS), "the motor's thermal time constant, from its data sheet");
        return new HeatingDefinition(
            double.IsNaN(seconds) ? TimeSpan.Zero : TimeSpan.FromSeconds(seconds),
            heating.Number("continuousTorque", NumberRange.Above0("% of rated", 500), Rated),
            heating.Number("warnAt", NumberRange.Above0("% of the trip value", 100), DefaultWarning));
    }
}
