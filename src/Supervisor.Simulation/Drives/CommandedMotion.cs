using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Drives.Motion;
using Supervisor.Simulation.Plant;

namespace Supervisor.Simulation.Drives;

/// <summary>What the registers command besides the state: target, ramps, torque limit, homing. What a definition does not declare is as the drive was commissioned.</summary>
internal sealed class CommandedMotion
{
    private readonly AxisDefinition _definition;
    private readonly PlantSettings _settings;
    private readonly RegisterValue? _target;
    private readonly RegisterValue? _targetVelocity;
    private readonly RegisterValue? _velocity;
    private readonly RegisterValue? _acceleration;
    private readonly RegisterValue? _deceleration;
    private readonly RegisterValue? _accelerationTime;
    private readonly RegisterValue? _decelerationTime;
    private readonly RegisterValue? _torqueLimit;
    private readonly RegisterValue? _homingMethod;
    private readonly RegisterValue? _homingFast;
    private readonly RegisterValue? _homingSlow;
    private readonly RegisterValue? _homingAcceleration;
    private readonly RegisterValue? _homeOffset;

    public CommandedMotion(AxisDefinition definition, PlantSettings settings, RegisterBank bank)
    {
        _definition = definition;
        _settings = settings;
        _target = bank.Commanded("targetPosition");
        _targetVelocity = bank.Commanded("targetVelocity");
        _velocity = bank.Commanded("profileVelocity");
        _acceleration = bank.Commanded("profileAcceleration");
        _deceleration = bank.Commanded("profileDeceleration");
        _accelerationTime = bank.Commanded("accelerationTime");
        _decelerationTime = bank.Commanded("decelerationTime");
        _torqueLimit = bank.Commanded("torqueLimit");
        _homingMethod = bank.Commanded("homingMethod");
        _homingFast = bank.Commanded("homingSpeedFast");
        _homingSlow = bank.Commanded("homingSpeedSlow");
        _homingAcceleration = bank.Commanded("homingAcceleration");
        _homeOffset = bank.Commanded("homeOffset");
    }

    /// <summary>True when a velocity can be commanded.</summary>
    public bool HasTargetVelocity => _targetVelocity is not null;

    public double TargetVelocity => _targetVelocity?.Value ?? 0;

    public double Velocity => _velocity?.Value ?? _settings.Velocity;

    public double Acceleration => _acceleration?.Value ?? Ramp(_accelerationTime) ?? _settings.Acceleration;

    public double Deceleration => _deceleration?.Value ?? Ramp(_decelerationTime) ?? Acceleration;

    private double? Ramp(RegisterValue? time) => time is { Value: > 0 } && _definition.Drive.RampTimes is { } ramps ? ramps.Rate(time.Value, Velocity) : null;

    /// <summary>Percent of rated.</summary>
    public double TorqueLimit => Math.Abs(_torqueLimit?.Value ?? _settings.MaximumTorque);

    /// <summary>Distance from the target that counts as arrived, counts: as commissioned, and never finer than the encoder.</summary>
    public double PositionWindow => Math.Max(_definition.InPosition.Window * _definition.CountsPerUnit, 1);

    /// <summary>The target as the registers hold it, to notice a change.</summary>
    public long RawTarget => _target?.Raw ?? 0;

    /// <summary>
    /// The commanded position in drive counts. On an endless axis the register counts round, so the nearest position with these bits is meant.
    /// </summary>
    public double Target(double position)
    {
        if (_target is null)
        {
            return position;
        }

        if (_definition.EndlessPeriod is null)
        {
            return _target.Value;
        }

        long actual = (long)Math.Round(position / _target.Field.Scale);
        long difference = _target.Raw - actual;
        difference = _target.Bits == 16 ? (short)difference : (int)difference;
        return (actual + difference) * _target.Field.Scale;
    }

    /// <summary>The commanded distance in drive counts.</summary>
    public double Distance => _target is null ? 0 : (_target.Bits == 16 ? (short)_target.Raw : (int)_target.Raw) * _target.Field.Scale;

    /// <summary>Puts values of commissioning into the registers, as a drive has them after start.</summary>
    public void Commission()
    {
        double counts = _definition.CountsPerUnit;
        _velocity?.SetClamped(_settings.Velocity);
        _acceleration?.SetClamped(_settings.Acceleration);
        _deceleration?.SetClamped(_definition.Limits.Deceleration * counts);
        _torqueLimit?.SetClamped(_settings.MaximumTorque);
        _homingMethod?.SetClamped(Method);
        _homingFast?.SetClamped(Fast);
        _homingSlow?.SetClamped(Slow);
        _homingAcceleration?.SetClamped(GentleRamp);
        _homeOffset?.SetClamped(Offset);
    }

    /// <summary>Keeps the torque limit at most at a value, as a drive with a maximum of its own does.</summary>
    public void CutTorqueLimit(double largest)
    {
        if (_torqueLimit is not null && _torqueLimit.Value > largest)
        {
            _torqueLimit.SetClamped(largest);
        }
    }

    /// <summary>Begins homing; false when the drive can't.</summary>
    public bool BeginHoming(ServoAxis axis) => axis.BeginHoming(
        AskedMethod,
        _homingFast?.Value ?? Fast,
        _homingSlow?.Value ?? Slow,
        _homingAcceleration?.Value ?? GentleRamp,
        _homeOffset?.Value ?? Offset);

    private int Method => HomingLayoutFromAxis.Method(_definition);

    /// <summary>Methods below 0 are the maker's own; so is 0 for a drive without CiA 402.</summary>
    private int AskedMethod
    {
        get
        {
            int asked = (int)(_homingMethod?.Value ?? Method);
            return asked < 0 || (asked == 0 && _definition.Drive.Coding == StateCoding.Bits) ? Method : asked;
        }
    }

    private double Fast => (_definition.Homing?.Fast ?? (0.1 * _definition.Limits.Velocity)) * _definition.CountsPerUnit;

    private double Slow => (_definition.Homing?.Slow ?? (0.02 * _definition.Limits.Velocity)) * _definition.CountsPerUnit;

    private double Offset => (_definition.Homing?.Offset ?? 0) * _definition.CountsPerUnit * (_definition.Inverted ? -1 : 1);

    private double GentleRamp => HomingLayoutFromAxis.GentleShare * _settings.Acceleration;
}
