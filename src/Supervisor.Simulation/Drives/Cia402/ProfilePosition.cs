using Supervisor.Simulation.Drives.Motion;

namespace Supervisor.Simulation.Drives.Cia402;

/// <summary>Mode 1: set-points taken by a handshake of controlword bit 4 and statusword bit 12, one more may wait behind the active one.</summary>
internal sealed class ProfilePosition(ServoAxis axis, CommandedMotion commanded, double positionWindow)
{
    private const ushort ChangeImmediately = 0x20;
    private const ushort Relative = 0x40;
    private const ushort Halt = 0x100;

    private SetPoint? _active;
    private SetPoint? _waiting;
    private bool _halted;

    /// <summary>Bit 12: the last set-point was taken and bit 4 is still up, or no further one can be taken.</summary>
    public bool Acknowledged { get; private set; }

    /// <summary>Bit 10: arrived; during halt: at rest.</summary>
    public bool TargetReached => _halted
        ? axis.Trajectory.IsStanding
        : axis.Trajectory.IsDone && _waiting is null && Math.Abs(axis.FollowingError) <= positionWindow;

    /// <summary>Forgets all set-points; on entering and leaving the mode.</summary>
    public void Clear()
    {
        _active = null;
        _waiting = null;
        _halted = false;
        Acknowledged = false;
    }

    /// <summary>One step in operation enabled.</summary>
    /// <param name="controlword">The word as it stands.</param>
    /// <param name="raised">The word that raised bit 4 since the last step; null when none did.</param>
    /// <returns>True when it took a set-point.</returns>
    public bool Step(ushort controlword, ushort? raised)
    {
        var takes = raised is not null && !Acknowledged;
        if (takes)
        {
            Acknowledged = true;
            Accept(raised!.Value);
        }

        Pause((controlword & Halt) != 0);
        if (!_halted && _waiting is { } next && axis.Trajectory.IsDone)
        {
            _waiting = null;
            Start(next);
        }

        if ((controlword & 0x10) == 0 && _waiting is null)
        {
            Acknowledged = false;
        }

        return takes;
    }

    private void Accept(ushort controlword)
    {
        double position = axis.Position;
        double from = _waiting?.Target ?? (axis.Trajectory.Target - axis.Plant.PositionCounts + position);
        var point = new SetPoint(
            (controlword & Relative) != 0 ? from + commanded.Distance : commanded.Target(position),
            commanded.Velocity,
            commanded.Acceleration,
            commanded.Deceleration);
        if ((controlword & ChangeImmediately) != 0 || _active is null || (axis.Trajectory.IsDone && !_halted))
        {
            _waiting = null;
            Start(point);
        }
        else
        {
            _waiting = point;
        }
    }

    private void Pause(bool halt)
    {
        if (halt == _halted)
        {
            return;
        }

        _halted = halt;
        if (halt)
        {
            axis.Stop(commanded.Deceleration);
        }
        else if (_active is { } point)
        {
            Start(point);
        }
    }

    private void Start(SetPoint point)
    {
        _active = point;
        if (!_halted)
        {
            axis.MoveTo(point.Target, point.Velocity, point.Acceleration, point.Deceleration);
        }
    }

    private readonly record struct SetPoint(double Target, double Velocity, double Acceleration, double Deceleration);
}
