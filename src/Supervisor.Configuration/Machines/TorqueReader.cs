using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads torque limits by phase.</summary>
/// <remarks>Left out: moving 100 %; every other phase as moving, stopping at least 100 %, so that no stop is weaker than the motor allows.</remarks>
internal static class TorqueReader
{
    private const double Rated = 100;

    private static readonly NumberRange Range = NumberRange.Above0("% of rated", 500);

    public static TorqueDefinition? Read(ObjectReader axis)
    {
        if (axis.Object("torque", MachineShapes.Torque) is not { } torque)
        {
            return null;
        }

        var moving = torque.Number("moving", Range, Rated);
        return new TorqueDefinition(
            torque.Number("homing", Range, moving),
            moving,
            torque.Number("holding", Range, moving),
            torque.Number("contact", Range, moving),
            torque.Number("stopping", Range, Math.Max(moving, Rated)));
    }
}
