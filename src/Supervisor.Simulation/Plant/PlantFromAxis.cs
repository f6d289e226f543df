using Supervisor.Configuration.Machines;

namespace Supervisor.Simulation.Plant;

/// <summary>Builds the machine behind a drive from what the machine file says of its axis: the file is taken to be right about the machine it describes.</summary>
public static class PlantFromAxis
{
    // Shares of rated torque in a move at the axis's limits: enough to feel, with room below a torque limit of 100 %.
    private const double AccelerationTorque = 40;
    private const double ViscousTorque = 4;
    private const double GravityTorque = 12;

    /// <summary>The plant of <paramref name="axis"/>; the seed decides where it stands when the machine is switched on.</summary>
    public static PlantSettings Build(AxisDefinition axis, ulong seed)
    {
        double counts = axis.CountsPerUnit;
        double acceleration = axis.Limits.Acceleration * counts;
        double velocity = axis.Limits.Velocity * counts;
        var travel = Travel.Of(axis);
        var homing = HomingLayoutFromAxis.Build(axis, travel);
        double gravity = axis.GravityLoaded ? GravityTorque * travel.AwayFromHome : 0;
        return new PlantSettings
        {
            Inertia = AccelerationTorque / acceleration,
            ViscousFriction = ViscousTorque / velocity,
            Gravity = gravity,
            LowerStop = travel.LowerStop,
            UpperStop = travel.UpperStop,
            Period = axis.EndlessPeriod * counts,
            StartPosition = Start(axis, travel, homing, seed),
            HasBrake = axis.Brake is not null,
            BrakeRelease = axis.Brake?.Release ?? TimeSpan.Zero,
            BrakeClose = axis.Brake?.Close ?? TimeSpan.Zero,
            Material = Material(axis, travel, gravity),
            Homing = homing,
            Acceleration = acceleration,
            Velocity = velocity,
            MaximumVelocity = 1.5 * velocity,
            QuickStopDeceleration = 1.5 * Math.Max(acceleration, axis.Limits.Deceleration * counts),
            FollowingErrorWindow = Window(axis) * counts,
        };
    }

    /// <summary>Wider than the supervisor's own limit, and wide enough for a contact move to be stopped before the drive takes it for a fault.</summary>
    private static double Window(AxisDefinition axis) =>
        axis.FollowingError is { } error ? Math.Max(4 * error.Limit, 0.05 * axis.Limits.Velocity) : 0.1 * axis.Limits.Velocity;

    private static double Start(AxisDefinition axis, Travel travel, HomingLayout homing, ulong seed)
    {
        double fraction = SeededDraw.For(seed, axis.Name).NextFraction();
        if (axis.Homing is { Method: 33 or 34 } byIndex)
        {
            // Such a machine is only rightly homed from within one pitch of its mark.
            return homing.IndexMark + ((byIndex.Method == 33 ? 1 : -1) * homing.IndexPitch * (0.2 + (0.6 * fraction)));
        }

        double lower = travel.Lower ?? travel.Home;
        double length = travel.Upper is { } upper && travel.Lower is { } ? upper - lower : (axis.EndlessPeriod ?? 10) * axis.CountsPerUnit;
        return Math.Round(lower + (length * (0.2 + (0.6 * fraction))));
    }

    /// <summary>An axis with a torque for contact moves has something to touch: its resistance passes that torque and leaves plain moves possible.</summary>
    private static WorkMaterial? Material(AxisDefinition axis, Travel travel, double gravity)
    {
        if (axis.Torque is not { Contact: > 0 } torque || travel.Lower is not { } lower || travel.Upper is not { } upper)
        {
            return null;
        }

        int direction = travel.AwayFromHome;
        double length = upper - lower;
        double surface = direction > 0 ? lower + (0.08 * length) : upper - (0.08 * length);
        double pull = gravity * direction;
        double enough = (1.3 * torque.Contact) + pull;
        double passable = (0.8 * torque.Moving) + pull - 8;
        return passable <= torque.Contact + pull ? null : new WorkMaterial(surface, direction, 0.02 * length, Math.Min(enough, passable));
    }
}

/// <summary>The range of an axis in drive counts and drive direction.</summary>
/// <param name="Lower">Lower end of the permitted range; null for none.</param>
/// <param name="Upper">Upper end of the permitted range; null for none.</param>
/// <param name="LowerStop">Lower hard stop; null for none.</param>
/// <param name="UpperStop">Upper hard stop; null for none.</param>
/// <param name="Home">Where homing finds the axis: its position offset.</param>
/// <param name="AwayFromHome">Direction that leads away from the end homing goes to: where a gravity-loaded axis sinks.</param>
internal readonly record struct Travel(double? Lower, double? Upper, double? LowerStop, double? UpperStop, double Home, int AwayFromHome)
{
    /// <summary>The range of <paramref name="axis"/>.</summary>
    public static Travel Of(AxisDefinition axis)
    {
        double perUnit = (axis.Inverted ? -1 : 1) * axis.CountsPerUnit;
        double home = (axis.Homing?.Offset ?? 0) * perUnit;
        if (axis.EndlessPeriod is not null || axis.Limits.LowerPosition is not { } first || axis.Limits.UpperPosition is not { } second)
        {
            return new Travel(null, null, null, null, home, axis.Homing is null ? -1 : AwayBySeek(HomingLayoutFromAxis.Method(axis)));
        }

        double lower = Math.Min(first * perUnit, second * perUnit);
        double upper = Math.Max(first * perUnit, second * perUnit);
        double margin = Margin(axis, upper - lower);
        int away = axis.Homing is null ? -Math.Sign(perUnit) : home - lower <= upper - home ? 1 : -1;
        var (lowerStop, upperStop) = (Math.Min(lower, home) - margin, Math.Max(upper, home) + margin);
        if (axis.Homing?.HardStop is { } stop)
        {
            // The stop it is homed against stands where its zero is to be.
            (lowerStop, upperStop) = stop.Direction * perUnit > 0 ? (lowerStop, home) : (home, upperStop);
        }

        return new Travel(lower, upper, lowerStop, upperStop, home, away);
    }

    /// <summary>Room behind each end in which a homing move at the drive's own gentle ramp still stops.</summary>
    private static double Margin(AxisDefinition axis, double length)
    {
        double fast = (axis.Homing?.Fast ?? (0.1 * axis.Limits.Velocity)) * axis.CountsPerUnit;
        double ramp = HomingLayoutFromAxis.GentleShare * axis.Limits.Acceleration * axis.CountsPerUnit;
        return Math.Max(0.05 * length, 2 * fast * fast / (2 * ramp));
    }

    private static int AwayBySeek(int number) => HomingMethod.TryGet(number, out var method) && method.Seek > 0 ? -1 : 1;
}
