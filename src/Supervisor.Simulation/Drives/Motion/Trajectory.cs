namespace Supervisor.Simulation.Drives.Motion;

/// <summary>
/// The drive's own set-point generator: trapezoidal velocity, re-planned each step from where it is, so that target and ramps may change at any time.
/// Counts and seconds.
/// </summary>
internal sealed class Trajectory
{
    private bool _toPosition;
    private double _target;
    private double _velocityLimit;
    private double _acceleration;
    private double _deceleration;

    /// <summary>Commanded position.</summary>
    public double Position { get; private set; }

    /// <summary>Commanded velocity.</summary>
    public double Velocity { get; private set; }

    /// <summary>Commanded acceleration in the last step.</summary>
    public double Acceleration { get; private set; }

    /// <summary>Target of the move; the position when there is none.</summary>
    public double Target => _toPosition ? _target : Position;

    /// <summary>True once it stands where it was sent.</summary>
    public bool IsDone => Velocity == 0 && (_toPosition ? Position == _target : _velocityLimit == 0);

    /// <summary>True once it commands no velocity.</summary>
    public bool IsStanding => Velocity == 0;

    /// <summary>Puts it somewhere at rest.</summary>
    public void Reset(double position)
    {
        Position = position;
        Velocity = 0;
        Acceleration = 0;
        _toPosition = false;
        _velocityLimit = 0;
    }

    /// <summary>Takes over a motion that is under way, so that it can be braked.</summary>
    public void Take(double position, double velocity)
    {
        Reset(position);
        Velocity = velocity;
    }

    /// <summary>Goes to a position; ramps above 0.</summary>
    public void MoveTo(double target, double velocity, double acceleration, double deceleration)
    {
        _toPosition = true;
        _target = target;
        _velocityLimit = velocity;
        _acceleration = acceleration;
        _deceleration = deceleration;
    }

    /// <summary>Runs at a velocity; ramps above 0.</summary>
    public void Run(double velocity, double acceleration, double deceleration)
    {
        _toPosition = false;
        _velocityLimit = velocity;
        _acceleration = acceleration;
        _deceleration = deceleration;
    }

    /// <summary>Comes to rest on a ramp above 0.</summary>
    public void Stop(double deceleration) => Run(0, deceleration, deceleration);

    /// <summary>Advances one step.</summary>
    public void Step(double seconds)
    {
        double wanted = _toPosition ? WantedTowardsTarget(seconds) : _velocityLimit;
        double before = Velocity;
        bool slower = wanted * before < 0 || Math.Abs(wanted) < Math.Abs(before);
        double change = (slower ? _deceleration : _acceleration) * seconds;
        Velocity = before + Math.Clamp(wanted - before, -change, change);
        if (slower && Velocity * before < 0)
        {
            // Through zero: what is left of the step belongs to the other ramp.
            Velocity = 0;
        }

        Acceleration = (Velocity - before) / seconds;
        Position += Velocity * seconds;
        if (_toPosition && Velocity != 0 && Math.Abs(_target - Position) < 1e-6 && Math.Abs(Velocity) <= change + _deceleration * seconds)
        {
            Position = _target;
            Velocity = 0;
        }
    }

    /// <summary>The highest velocity from which the remaining whole steps still brake to the target.</summary>
    private double WantedTowardsTarget(double seconds)
    {
        double distance = _target - Position;
        if (distance == 0)
        {
            return 0;
        }

        double half = _deceleration * seconds / 2;
        double braking = Math.Sqrt((half * half) + (2 * _deceleration * Math.Abs(distance))) - half;
        return Math.Sign(distance) * Math.Min(_velocityLimit, Math.Min(braking, Math.Abs(distance) / seconds));
    }
}
