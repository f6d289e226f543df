using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads torque limits by phase.</summary>
/// <remarks>Left out: moving 100 %; every other phase as moving, stopping at least 100 %, so that no stop is weaker than the motor allows.</remarks>
internal static class TorqueReader
{
    private const double Rated = 100;

    private static readonly NumberRange Range = NumberRange.Above0("% of rated", 500);

    /// <summary>How far every torque limit must be above what the load alone takes.</summary>
    public const double GravityMargin = 1.25;

    /// <summary>Torque that the load alone takes.</summary>
    public static double? ReadGravity(ObjectReader axis)
    {
        if (axis.Find("gravityTorque") is null)
        {
            return null;
        }

        if (axis.Find("gravityLoaded") is not { Kind: NodeKind.Boolean, Boolean: true })
        {
            axis.Refuse("gravityTorque", "is given for an axis that is not gravityLoaded; say \"gravityLoaded\": true, so that its stop goes out first");
        }

        return axis.Number("gravityTorque", Range, double.NaN);
    }

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
