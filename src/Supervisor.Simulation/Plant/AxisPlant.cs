namespace Supervisor.Simulation.Plant;

/// <summary>
/// One axis's mass on its guide: what is really there, whatever the drive believes. Advanced in fixed steps by the drive; tests read it as the truth.
/// </summary>
public sealed class AxisPlant
{
    private readonly double _countsPerUnit;
    private double _brakeTime;

    /// <summary>A mass at its start position, at rest, brake closed.</summary>
    /// <param name="settings">What it is made of.</param>
    /// <param name="countsPerUnit">Drive counts of one axis unit, negative when the axis counts the other way.</param>
    public AxisPlant(PlantSettings settings, double countsPerUnit)
    {
        Settings = settings;
        _countsPerUnit = countsPerUnit;
        PositionCounts = settings.StartPosition;
        BrakeClosed = settings.HasBrake;
        BrakeTorque = settings.BrakeTorque;
    }

    /// <summary>What it is made of.</summary>
    public PlantSettings Settings { get; }

    /// <summary>Counts from the machine's fixed mark, drive direction.</summary>
    public double PositionCounts { get; private set; }

    /// <summary>Counts/s, drive direction.</summary>
    public double VelocityCounts { get; private set; }

    /// <summary>Position in the axis's unit and direction, as a rightly homed axis would tell it.</summary>
    public double Position => PositionCounts / _countsPerUnit;

    /// <summary>Velocity in the axis's unit and direction.</summary>
    public double Velocity => VelocityCounts / _countsPerUnit;

    /// <summary>Torque of the motor, percent of rated, drive direction.</summary>
    public double Torque { get; private set; }

    /// <summary>True while the motor has torque.</summary>
    public bool Powered { get; internal set; }

    /// <summary>True while the brake holds.</summary>
    public bool BrakeClosed { get; private set; }

    /// <summary>True when something blocks the axis.</summary>
    public bool Jammed { get; set; }

    /// <summary>Torque above which the closed brake slips, percent of rated; a worn one slips earlier.</summary>
    public double BrakeTorque { get; set; }

    /// <summary>True when the brake no longer holds, though it closes.</summary>
    public bool BrakeWorn { get; set; }

    /// <summary>True when it lies against a hard stop.</summary>
    public bool AtHardStop { get; private set; }

    /// <summary>Moves the mass for one step.</summary>
    /// <param name="torque">Torque of the motor, percent of rated.</param>
    /// <param name="brakeOpen">What the drive asks of the brake.</param>
    /// <param name="seconds">Length of the step, at most 1 ms.</param>
    internal void Step(double torque, bool brakeOpen, double seconds)
    {
        Torque = torque;
        MoveBrake(brakeOpen, seconds);
        if (Jammed)
        {
            VelocityCounts = 0;
            return;
        }

        double driven = VelocityCounts + ((torque + Settings.Gravity - (Settings.ViscousFriction * VelocityCounts)) / Settings.Inertia * seconds);
        VelocityCounts = Rub(driven, seconds);
        PositionCounts += VelocityCounts * seconds;
        StopHard();
    }

    private void MoveBrake(bool open, double seconds)
    {
        if (!Settings.HasBrake || open != BrakeClosed)
        {
            _brakeTime = 0;
            return;
        }

        // Half a step of grace: sums of steps are not exact.
        _brakeTime += seconds;
        if (_brakeTime + (seconds / 2) >= (open ? Settings.BrakeRelease : Settings.BrakeClose).TotalSeconds)
        {
            BrakeClosed = !open;
            _brakeTime = 0;
        }
    }

    /// <summary>Dry friction and brake take velocity away and never turn it round.</summary>
    private double Rub(double velocity, double seconds)
    {
        double friction = Settings.CoulombFriction + (BrakeClosed && !BrakeWorn ? BrakeTorque : 0);
        if (Settings.Material is { } material && Math.Sign(velocity) == material.Direction)
        {
            friction += material.ResistanceAt(PositionCounts);
        }

        double taken = friction / Settings.Inertia * seconds;
        return Math.Abs(velocity) <= taken ? 0 : velocity - (Math.Sign(velocity) * taken);
    }

    private void StopHard()
    {
        AtHardStop = false;
        if (Settings.LowerStop is { } lower && PositionCounts <= lower)
        {
            Rest(lower, Math.Max(VelocityCounts, 0));
        }
        else if (Settings.UpperStop is { } upper && PositionCounts >= upper)
        {
            Rest(upper, Math.Min(VelocityCounts, 0));
        }
    }

    private void Rest(double position, double velocity)
    {
        PositionCounts = position;
        VelocityCounts = velocity;
        AtHardStop = true;
    }
}
