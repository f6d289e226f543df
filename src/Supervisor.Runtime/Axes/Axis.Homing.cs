using Supervisor.Configuration.Machines;
using Supervisor.Drives.Coding;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Axes;

/// <content>Homing: what must be confirmed or clear, how far it may go, and the search for an end stop.</content>
public sealed partial class Axis
{
    private double _searchWay;
    private double _searchAt;
    private TimeSpan _searchSeenAt;
    private ulong _unproven;
    private StopSearch _stopSearch;
    private TimeSpan _pressingSince;

    /// <summary>Where the search for an end stop is.</summary>
    private enum StopSearch : byte
    {
        None = 0,
        Press = 1,
        SetZero = 2,
        BackOff = 3,
    }

    private Refusal RefuseHoming(in AxisCommand command, TimeSpan now)
    {
        if (Definition.Homing is not { } homing)
        {
            return Refusal.NoHoming;
        }

        if (homing.OnlySetsZero && !command.Confirmed)
        {
            return Refusal.NeedsConfirmation;
        }

        for (var i = 0; i < homing.ClearOf.Count; i++)
        {
            var state = Clearance.StateOf(_board, homing.ClearOf[i], now);
            if (state == ClearState.Blocked)
            {
                return Refusal.NotClearToHome;
            }

            if (state == ClearState.Unproven && !command.Confirmed)
            {
                return Refusal.NeedsConfirmation;
            }
        }

        return Awaited(AxisEvent.HomeGiven);
    }

    /// <summary>Remembers which conditions a person vouched for: the others must stay proven.</summary>
    private void NoteUnproven(TimeSpan now)
    {
        _unproven = 0;
        var conditions = Definition.Homing!.ClearOf;
        for (var i = 0; i < conditions.Count; i++)
        {
            if (Clearance.StateOf(_board, conditions[i], now) == ClearState.Unproven)
            {
                _unproven |= 1UL << i;
            }
        }
    }

    /// <summary>Homing is under way: is everything still clear, and is the zero not too far?</summary>
    private void WatchHoming(TimeSpan now)
    {
        if (_inHand.Kind != AxisCommandKind.Home || Definition.Homing is not { } homing)
        {
            return;
        }

        for (var i = 0; i < homing.ClearOf.Count; i++)
        {
            var state = Clearance.StateOf(_board, homing.ClearOf[i], now);
            if (state == ClearState.Blocked || (state == ClearState.Unproven && (_unproven & (1UL << i)) == 0))
            {
                SeeFault(FaultCode.HomingNotClear, 0, now);
                return;
            }
        }

        if (_node != AxisNode.Searching)
        {
            return;
        }

        MeasureWay(now);
        if (Math.Abs(_searchWay) > homing.DistanceLimit)
        {
            SeeFault(FaultCode.HomingDistanceExceeded, 0, now);
        }
        else if (homing.HardStop is { } stop)
        {
            SeekStop(homing, stop, now);
        }
    }

    /// <summary>The way since the search began. A step no axis can make is the drive setting its counter to the zero found.</summary>
    private void MeasureWay(TimeSpan now)
    {
        var step = Position - _searchAt;
        var possible = (Definition.Limits.Velocity * 2 * (now - _searchSeenAt).TotalSeconds) + StandstillWindow;
        _searchWay += Math.Abs(step) <= possible ? step : 0;
        _searchAt = Position;
        _searchSeenAt = now;
    }

    /// <summary>The search begins: what the drive is brought to.</summary>
    private DriveGoal BeginSearch(TimeSpan now)
    {
        (_searchWay, _searchAt, _searchSeenAt) = (0, Position, now);
        _stopSearch = StopSearch.None;
        if (Definition.Homing?.HardStop is not { } stop)
        {
            return DriveGoal.Home;
        }

        // Farther than the stop can be: what ends the way is the stop, the distance limit or the time.
        var limits = Definition.Limits;
        var way = Definition.Homing.DistanceLimit * 1.1
            ?? (limits.UpperPosition is { } upper && limits.LowerPosition is { } lower ? (upper - lower) * 1.5 : _scale.ToUnit(Coding.FarthestTarget / 2));
        _stopSearch = StopSearch.Press;
        _pressingSince = TimeSpan.MaxValue;
        GoSlowly(Position + (stop.Direction * Math.Abs(way)));
        return DriveGoal.Move;
    }

    private void SeekStop(HomingDefinition homing, HardStopDefinition stop, TimeSpan now)
    {
        switch (_stopSearch)
        {
            case StopSearch.Press when _moveTaken:
                var gathersSpeed = now < _moveTakenAt + TimeSpan.FromSeconds(homing.Slow / Definition.Limits.Acceleration * 1.5) + ContactGrace;
                var presses = !gathersSpeed && stop.Direction * Torque >= stop.Torque * ContactShare && Math.Abs(_velocity) < Math.Min(_restVelocity, homing.Slow / 2);
                _pressingSince = !presses ? TimeSpan.MaxValue : _pressingSince < now ? _pressingSince : now;
                if (presses && now - _pressingSince >= stop.For)
                {
                    _stopSearch = StopSearch.SetZero;
                    Begin(DriveGoal.Home, anew: true, now);
                }
                else if (!presses && Math.Abs(_scale.ToUnit(Counts - _targetCounts)) <= Definition.InPosition.Window)
                {
                    SeeFault(FaultCode.HomingDistanceExceeded, 0, now);
                }

                break;

            case StopSearch.BackOff when _moveTaken:
                if (IsInWindow(now))
                {
                    _stopSearch = StopSearch.None;
                    Raise(AxisEvent.GoalReached, now);
                }

                break;
        }
    }

    /// <summary>The drive has set its zero. True when the axis still has to leave the stop.</summary>
    private bool LeavesStop(TimeSpan now)
    {
        if (_stopSearch != StopSearch.SetZero || Definition.Homing?.HardStop is not { BackOff: > 0 } stop)
        {
            return false;
        }

        _stopSearch = StopSearch.BackOff;
        _counter.Forget();
        TakePosition(now);
        (_searchAt, _searchSeenAt) = (Position, now);
        GoSlowly(Definition.Homing.Offset - (stop.Direction * stop.BackOff));
        Begin(DriveGoal.Move, anew: true, now);
        return true;
    }

    private void GoSlowly(double target)
    {
        var limits = Definition.Limits;
        _targetCounts = Math.Round(_scale.ToCounts(target) / Coding.TargetScale) * Coding.TargetScale;
        _moveTaken = false;
        _inWindowSince = TimeSpan.MaxValue;
        Coding.PutMove(
            Image, _targetCounts, _scale.ToCountRate(Definition.Homing!.Slow), _scale.ToCountRate(limits.Acceleration), _scale.ToCountRate(limits.Deceleration));
    }
}
