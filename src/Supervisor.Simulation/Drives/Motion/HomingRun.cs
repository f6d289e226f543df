using Supervisor.Simulation.Plant;

namespace Supervisor.Simulation.Drives.Motion;

/// <summary>How far a homing run is.</summary>
internal enum HomingPhase
{
    Idle = 0,

    /// <summary>Looks for the switch.</summary>
    Seek = 1,

    /// <summary>Leaves the switch over the edge that counts.</summary>
    Leave = 2,

    /// <summary>Comes back over the edge that counts.</summary>
    Enter = 3,

    /// <summary>Looks for the index mark.</summary>
    Index = 4,

    /// <summary>Found; comes to rest.</summary>
    Settle = 5,

    /// <summary>Found and at rest.</summary>
    Done = 6,

    /// <summary>Given up; comes to rest.</summary>
    Failed = 7,
}

/// <summary>One run of homing: drives the trajectory by the switches until the home position is known.</summary>
internal sealed class HomingRun(HomingLayout layout)
{
    private HomingMethod _method;
    private double _fast;
    private double _slow;
    private double _ramp;
    private int _direction;
    private bool _turned;

    /// <summary>How far it is.</summary>
    public HomingPhase Phase { get; private set; }

    /// <summary>The home position once found, counts from the machine's mark.</summary>
    public double Home { get; private set; }

    /// <summary>True while it looks or settles.</summary>
    public bool IsRunning => Phase is >= HomingPhase.Seek and <= HomingPhase.Settle;

    /// <summary>True once the home position is known.</summary>
    public bool IsFound => Phase is HomingPhase.Settle or HomingPhase.Done;

    /// <summary>Begins, with a ramp above 0; false for a method the drive does not have or speeds it can't run with.</summary>
    public bool Begin(int method, double fast, double slow, double ramp, double position)
    {
        _turned = false;
        (_fast, _slow, _ramp) = (fast, slow, ramp);
        if (!HomingMethod.TryGet(method, out _method) || (_method.Pass != 0 && (slow <= 0 || (_method.Switch is not null && fast <= 0))))
        {
            Phase = HomingPhase.Failed;
            return false;
        }

        if (_method.Pass == 0)
        {
            Home = position;
            Phase = HomingPhase.Settle;
            return true;
        }

        Phase = _method.Switch is { } which ? (layout.IsClosed(which, position) ? HomingPhase.Leave : HomingPhase.Seek) : HomingPhase.Index;
        _direction = _method.Seek;
        return true;
    }

    /// <summary>Stops looking.</summary>
    public void Abandon() => Phase = HomingPhase.Idle;

    /// <summary>One step, after the mass moved from <paramref name="before"/> to <paramref name="position"/>.</summary>
    public void Step(Trajectory trajectory, double before, double position)
    {
        switch (Phase)
        {
            case HomingPhase.Seek:
                Seek(trajectory, position);
                break;
            case HomingPhase.Leave:
                Leave(trajectory, position);
                break;
            case HomingPhase.Enter:
                Enter(trajectory, position);
                break;
            case HomingPhase.Index:
                LookForIndex(trajectory, before, position);
                break;
            case HomingPhase.Settle or HomingPhase.Failed:
                trajectory.Stop(_ramp);
                if (trajectory.IsStanding && Phase == HomingPhase.Settle)
                {
                    Phase = HomingPhase.Done;
                }

                break;
        }
    }

    private void Seek(Trajectory trajectory, double position)
    {
        if (layout.IsClosed(_method.Switch!.Value, position))
        {
            Phase = HomingPhase.Leave;
            return;
        }

        if (_method.Switch == HomingSwitch.HomeCam && AtLimit(position))
        {
            if (_turned)
            {
                Phase = HomingPhase.Failed;
                return;
            }

            _turned = true;
            _direction = -_direction;
        }

        trajectory.Run(_direction * _fast, _ramp, _ramp);
    }

    private bool AtLimit(double position) =>
        layout.IsClosed(_direction > 0 ? HomingSwitch.PositiveLimit : HomingSwitch.NegativeLimit, position);

    private void Leave(Trajectory trajectory, double position)
    {
        bool counts = _method.Pass == _method.EdgeSide;
        bool open = !layout.IsClosed(_method.Switch!.Value, position);
        if (open && IsBeyondEdge(position) && trajectory.Velocity * _method.EdgeSide > 0)
        {
            if (counts)
            {
                Passed(position);
            }
            else
            {
                Phase = HomingPhase.Enter;
            }

            return;
        }

        // Also the way back through a short cam that the search ran over.
        trajectory.Run(_method.EdgeSide * (counts ? _slow : _fast), _ramp, _ramp);
    }

    private bool IsBeyondEdge(double position) =>
        (position - layout.Edge(_method.Switch!.Value, _method.EdgeSide, position)) * _method.EdgeSide > 0;

    private void Enter(Trajectory trajectory, double position)
    {
        if (layout.IsClosed(_method.Switch!.Value, position))
        {
            if (trajectory.Velocity * _method.Pass > 0)
            {
                Passed(position);
                return;
            }
        }

        trajectory.Run(_method.Pass * _slow, _ramp, _ramp);
    }

    private void Passed(double position)
    {
        Home = layout.Edge(_method.Switch!.Value, _method.EdgeSide, position);
        Phase = _method.Index ? HomingPhase.Index : HomingPhase.Settle;
    }

    private void LookForIndex(Trajectory trajectory, double before, double position)
    {
        trajectory.Run(_method.Pass * _slow, _ramp, _ramp);
        if (trajectory.Velocity * _method.Pass > 0 && layout.IndexBetween(before, position) is { } mark)
        {
            Home = mark;
            Phase = HomingPhase.Settle;
        }
    }
}
