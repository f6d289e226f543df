namespace Supervisor.Simulation.Plant;

/// <summary>
/// What stands behind a simulated drive: its mass, friction, ends and brake. Positions are drive counts in the drive's own direction,
/// measured from a fixed mark of the machine that the drive does not know; torque and force are percent of rated torque.
/// </summary>
public sealed record PlantSettings
{
    /// <summary>Torque that accelerates the mass by one count/s², percent of rated.</summary>
    public required double Inertia { get; init; }

    /// <summary>Dry friction, percent of rated.</summary>
    public double CoulombFriction { get; init; } = 3;

    /// <summary>Friction that grows with velocity, percent of rated for one count/s.</summary>
    public double ViscousFriction { get; init; }

    /// <summary>Constant force on the mass, percent of rated, positive towards rising counts; 0 for axes that stay where they are.</summary>
    public double Gravity { get; init; }

    /// <summary>Most the drive can give, percent of rated.</summary>
    public double MaximumTorque { get; init; } = 300;

    /// <summary>Lower hard stop; null when there is none.</summary>
    public double? LowerStop { get; init; }

    /// <summary>Upper hard stop; null when there is none.</summary>
    public double? UpperStop { get; init; }

    /// <summary>Counts of one turn of an endless axis; null for one with ends.</summary>
    public double? Period { get; init; }

    /// <summary>Where the mass stands when the machine is switched on.</summary>
    public double StartPosition { get; init; }

    /// <summary>True for a holding brake operated by the drive.</summary>
    public bool HasBrake { get; init; }

    /// <summary>Time from torque on until the brake is open.</summary>
    public TimeSpan BrakeRelease { get; init; }

    /// <summary>Time from the close command until the brake holds.</summary>
    public TimeSpan BrakeClose { get; init; }

    /// <summary>Torque the closed brake holds, percent of rated.</summary>
    public double BrakeTorque { get; init; } = 200;

    /// <summary>Something the axis presses into; null when it moves in free air.</summary>
    public WorkMaterial? Material { get; init; }

    /// <summary>Switches and index marks of homing.</summary>
    public required HomingLayout Homing { get; init; }

    /// <summary>Ramp for moves whose acceleration is not commanded, counts/s².</summary>
    public required double Acceleration { get; init; }

    /// <summary>Velocity for moves whose velocity is not commanded, counts/s.</summary>
    public required double Velocity { get; init; }

    /// <summary>Highest velocity of the motor, counts/s.</summary>
    public required double MaximumVelocity { get; init; }

    /// <summary>Ramp of a quick stop, counts/s².</summary>
    public required double QuickStopDeceleration { get; init; }

    /// <summary>Following error at which the drive trips, counts.</summary>
    public required double FollowingErrorWindow { get; init; }

    /// <summary>How long the following error may stay outside its window.</summary>
    public TimeSpan FollowingErrorTime { get; init; } = TimeSpan.FromMilliseconds(100);

    /// <summary>How long a motor may stand still at its torque limit, when that is at least <see cref="BlockedTorque"/>.</summary>
    public TimeSpan BlockedTime { get; init; } = TimeSpan.FromSeconds(1);

    /// <summary>Lowest torque at which a blocked motor is found, percent of rated: pressing gently is no fault.</summary>
    public double BlockedTorque { get; init; } = 80;

    /// <summary>Silence of a drive that starts again.</summary>
    public TimeSpan BootTime { get; init; } = TimeSpan.FromMilliseconds(300);
}

/// <summary>A material that resists being pressed into and does not push back, such as soil.</summary>
/// <param name="Surface">Counts at which it begins.</param>
/// <param name="Direction">1 when it lies towards rising counts, -1 towards falling ones.</param>
/// <param name="Depth">Counts over which the resistance grows to its full value, above 0.</param>
/// <param name="Resistance">Full resistance, percent of rated torque.</param>
public sealed record WorkMaterial(double Surface, int Direction, double Depth, double Resistance)
{
    /// <summary>Resistance against a motion in <see cref="Direction"/> at a position.</summary>
    public double ResistanceAt(double position) =>
        Resistance * Math.Clamp((position - Surface) * Direction / Depth, 0, 1);
}
