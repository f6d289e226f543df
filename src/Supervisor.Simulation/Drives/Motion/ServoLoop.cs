namespace Supervisor.Simulation.Drives.Motion;

/// <summary>
/// Position loop with a velocity loop inside. Its feed-forward is deliberately not exact, so that a moving axis lags as a real one does.
/// </summary>
internal sealed class ServoLoop(double inertia)
{
    private const double PositionGain = 60;      // 1/s
    private const double VelocityBandwidth = 180; // rad/s
    private const double IntegralRate = 15;      // 1/s
    private const double VelocityForward = 0.95;
    private const double AccelerationForward = 0.9;

    private double _integral;

    /// <summary>True when the last torque was cut to the limit.</summary>
    public bool Saturated { get; private set; }

    /// <summary>Forgets what it learnt; on torque on.</summary>
    public void Reset()
    {
        _integral = 0;
        Saturated = false;
    }

    /// <summary>Torque for this step, percent of rated, within ±<paramref name="limit"/>.</summary>
    public double Torque(Trajectory wanted, double position, double velocity, double limit, double seconds)
    {
        double speed = (VelocityForward * wanted.Velocity) + (PositionGain * (wanted.Position - position));
        double error = speed - velocity;
        double gain = inertia * VelocityBandwidth;
        double asked = (AccelerationForward * inertia * wanted.Acceleration) + (gain * error) + _integral;
        double given = Math.Clamp(asked, -limit, limit);
        Saturated = given != asked;
        if (!Saturated || error * asked < 0)
        {
            _integral = Math.Clamp(_integral + (gain * IntegralRate * error * seconds), -limit, limit);
        }

        return given;
    }
}
