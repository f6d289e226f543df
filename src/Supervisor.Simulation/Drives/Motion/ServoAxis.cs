using Supervisor.Simulation.Plant;

namespace Supervisor.Simulation.Drives.Motion;

/// <summary>
/// The power part of a drive: torque, brake, loop and homing, without any opinion on how a master talks to it.
/// Positions it takes and gives are the drive's own counts, which begin anywhere.
/// </summary>
internal sealed class ServoAxis
{
    /// <summary>Length of one step.</summary>
    public const double StepSeconds = 0.001;

    private readonly ServoLoop _loop;
    private double _zero;
    private double _outsideSeconds;
    private double _blockedSeconds;
    private bool _releasing;
    private double _homeOffset;
    private bool _homeTaken;

    public ServoAxis(AxisPlant plant)
    {
        Plant = plant;
        _loop = new ServoLoop(plant.Settings.Inertia);
        Homing = new HomingRun(plant.Settings.Homing);
        TorqueLimit = plant.Settings.MaximumTorque;
        ZeroHere();
        Trajectory.Reset(plant.PositionCounts);
    }

    public AxisPlant Plant { get; }

    public Trajectory Trajectory { get; } = new();

    public HomingRun Homing { get; }

    /// <summary>Commanded torque limit, percent of rated.</summary>
    public double TorqueLimit { get; set; }

    /// <summary>True while the brake is kept closed though torque is on.</summary>
    public bool HoldsBrake { get; set; }

    /// <summary>True while torque is on and the drive is not about to take it away.</summary>
    public bool IsEnergised => Plant.Powered && !_releasing;

    /// <summary>True while the brake closes under torque.</summary>
    public bool IsReleasing => _releasing;

    /// <summary>True once a homing run has succeeded since the encoder last lost its place.</summary>
    public bool IsHomed { get; private set; }

    /// <summary>Actual position, drive counts.</summary>
    public double Position => Plant.PositionCounts - _zero;

    /// <summary>Commanded minus actual position, counts; 0 without torque.</summary>
    public double FollowingError => Plant.Powered ? Trajectory.Position - Plant.PositionCounts : 0;

    /// <summary>True when the torque is cut to its limit.</summary>
    public bool IsTorqueLimited => Plant.Powered && _loop.Saturated;

    /// <summary>True while the mass moves noticeably: more than 1 in 200 of its velocity.</summary>
    public bool IsTurning => Math.Abs(Plant.VelocityCounts) > 0.005 * Plant.Settings.Velocity;

    /// <summary>Fault found in the last step (603Fh codes), 0 for none.</summary>
    public ushort Trip { get; private set; }

    /// <summary>Torque on: hold what is there and open the brake.</summary>
    public void Energise()
    {
        _releasing = false;
        if (!Plant.Powered)
        {
            _loop.Reset();
            Plant.Powered = true;

            // A mass that still coasts is caught on a ramp.
            Trajectory.Take(Plant.PositionCounts, Plant.VelocityCounts);
            Trajectory.Stop(Plant.Settings.QuickStopDeceleration);
        }

        (_outsideSeconds, _blockedSeconds) = (0, 0);
    }

    /// <summary>Closes the brake under torque, then takes torque away; without a brake at once.</summary>
    public void Release()
    {
        if (!Plant.Powered || _releasing)
        {
            return;
        }

        Homing.Abandon();
        if (!Plant.Settings.HasBrake)
        {
            Cut();
            return;
        }

        _releasing = true;
    }

    /// <summary>Takes torque away at once; the brake falls in by itself.</summary>
    public void Cut()
    {
        Plant.Powered = false;
        _releasing = false;
        Homing.Abandon();
    }

    /// <summary>Goes to a position in drive counts. Ramps that are not above 0 become the drive's own.</summary>
    public void MoveTo(double position, double velocity, double acceleration, double deceleration) =>
        Trajectory.MoveTo(position + _zero, Speed(velocity), Ramp(acceleration), Ramp(deceleration));

    /// <summary>Runs at a velocity.</summary>
    public void Run(double velocity, double acceleration, double deceleration) =>
        Trajectory.Run(Math.Sign(velocity) * Speed(Math.Abs(velocity)), Ramp(acceleration), Ramp(deceleration));

    /// <summary>Ramps down and holds.</summary>
    public void Stop(double deceleration) => Trajectory.Stop(Ramp(deceleration));

    /// <summary>Ramps down on the quick-stop ramp and holds.</summary>
    public void QuickStop()
    {
        Homing.Abandon();
        Trajectory.Stop(Plant.Settings.QuickStopDeceleration);
    }

    /// <summary>Brakes from the motion there really is: a lag must not be made good during a fault reaction.</summary>
    public void BrakeFromActual()
    {
        Trajectory.Take(Plant.PositionCounts, Plant.VelocityCounts);
        QuickStop();
    }

    /// <summary>Looks for the home position; the counts there become <paramref name="offset"/>. False for a method it does not have.</summary>
    public bool BeginHoming(int method, double fast, double slow, double ramp, double offset)
    {
        IsHomed = false;
        _homeTaken = false;
        _homeOffset = offset;
        return Homing.Begin(method, Speed(fast), Speed(slow), ramp > 0 ? ramp : Plant.Settings.Acceleration, Plant.PositionCounts);
    }

    /// <summary>Knows its place from its encoder, as a drive does whose zero was taught when the machine was set up.</summary>
    public void KnowPlace()
    {
        _zero = 0;
        IsHomed = true;
    }

    /// <summary>Knows no longer where its zero is.</summary>
    public void LoseZero() => IsHomed = false;

    /// <summary>Loses what a restart loses.</summary>
    /// <param name="keepsPlace">True for an absolute encoder.</param>
    public void Restart(bool keepsPlace)
    {
        Cut();
        TorqueLimit = Plant.Settings.MaximumTorque;
        if (!keepsPlace)
        {
            ZeroHere();
            IsHomed = false;
        }
    }

    /// <summary>One step of loop and mass.</summary>
    public void Step()
    {
        Trip = 0;
        double before = Plant.PositionCounts;
        double torque = 0;
        if (Plant.Powered)
        {
            Trajectory.Step(StepSeconds);
            torque = _loop.Torque(Trajectory, before, Plant.VelocityCounts, Math.Min(TorqueLimit, Plant.Settings.MaximumTorque), StepSeconds);
            EndRelease();
        }

        Plant.Step(torque, Plant.Powered && !_releasing && !HoldsBrake, StepSeconds);
        if (Plant.Powered)
        {
            StepHoming(before);
            Supervise();
        }
    }

    private void EndRelease()
    {
        if (_releasing && Plant.BrakeClosed)
        {
            Cut();
        }
    }

    private void StepHoming(double before)
    {
        if (!Homing.IsRunning && Homing.Phase != HomingPhase.Failed)
        {
            return;
        }

        Homing.Step(Trajectory, before, Plant.PositionCounts);
        if (Homing.IsFound && !_homeTaken)
        {
            _homeTaken = true;
            _zero = Homing.Home - _homeOffset;
            IsHomed = true;
        }
    }

    private void Supervise()
    {
        var settings = Plant.Settings;
        _outsideSeconds = Math.Abs(FollowingError) > settings.FollowingErrorWindow ? _outsideSeconds + StepSeconds : 0;
        bool blocked = _loop.Saturated && !IsTurning && Math.Min(TorqueLimit, settings.MaximumTorque) >= settings.BlockedTorque;
        _blockedSeconds = blocked ? _blockedSeconds + StepSeconds : 0;
        if (_outsideSeconds > settings.FollowingErrorTime.TotalSeconds)
        {
            Trip = DriveErrors.FollowingError;
        }
        else if (_blockedSeconds > settings.BlockedTime.TotalSeconds)
        {
            Trip = DriveErrors.MotorBlocked;
        }
    }

    private void ZeroHere() => _zero = Plant.PositionCounts;

    private double Speed(double velocity) => Math.Clamp(velocity, 0, Plant.Settings.MaximumVelocity);

    private double Ramp(double asked) => asked > 0 ? asked : Plant.Settings.Acceleration;
}
