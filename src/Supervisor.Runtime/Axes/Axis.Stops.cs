using Supervisor.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;
using Supervisor.Runtime.Stops;

namespace Supervisor.Runtime.Axes;

/// <content>Stops as measured, and whether they go as computed.</content>
public sealed partial class Axis
{
    // Noise of the velocity and a load that swings must not look like a stop that fails.
    private const double SpeedTolerance = 1.15;

    private StopMeter _stopMeter;
    private int _cutEpoch;

    /// <summary>A trip or a request to stop was seen: what turns or holds torque is measured until it has stopped.</summary>
    private void MeasureStop(int category, ulong causes, TimeSpan now, FaultCode fault = FaultCode.None)
    {
        // An axis that holds torque at rest has nothing to stop in category 2.
        var isMoving = Math.Abs(_velocity) >= _restVelocity || _node is AxisNode.Running or AxisNode.Jogging or AxisNode.Searching;
        if (Online && (isMoving || (category < 2 && _feedback.Has(DriveFlags.Powered))))
        {
            _stopMeter.Begin(Index, category, causes, Position, _velocity, fault, now);
        }
    }

    private void FollowMeasuredStop(TimeSpan now)
    {
        if (!_stopMeter.IsRunning)
        {
            return;
        }

        if (_stopMeter.Take(Position, Math.Abs(_velocity) < _restVelocity, _feedback.Has(DriveFlags.Powered), now, out var stop))
        {
            TellStop(stop);
        }
        else if (IsStopTooSlow(now))
        {
            // As if its time had run out: it will not stop in time, and waiting would only cost the way.
            _deadline = now;
        }
    }

    /// <summary>The drive no longer answers: what was seen of its stop is told.</summary>
    private void AbandonMeasuredStop()
    {
        if (_stopMeter.IsRunning)
        {
            TellStop(_stopMeter.Abandon());
        }
    }

    /// <summary>Faster than the ramp allows by now, the grace for line and drive left out.</summary>
    private bool IsStopTooSlow(TimeSpan now)
    {
        if (_stopMeter.IsAtRest || _node is not (AxisNode.Halting or AxisNode.HomeStopping or AxisNode.StoppingToOff or AxisNode.FaultStopping))
        {
            return false;
        }

        var ramping = now - _stopMeter.Since - StopGrace - Definition.Limits.Rounding(Definition.Limits.Deceleration);
        var allowed = (Math.Abs(_stopMeter.Velocity) * SpeedTolerance) - (Definition.Limits.Deceleration * ramping.TotalSeconds);
        return ramping > TimeSpan.Zero && Math.Abs(_velocity) > Math.Max(allowed, _restVelocity) && _deadline > now;
    }

    /// <summary>Another axis of the group did not stop: torque off at once, whatever that costs.</summary>
    private void TakeCut(TimeSpan now)
    {
        var epoch = _board.Latch.CutEpoch(Index);
        if (epoch != _cutEpoch)
        {
            _cutEpoch = epoch;
            MeasureStop(0, 0, now);
            Raise(AxisEvent.Category0, now);
        }
    }

    /// <summary>A stop that failed costs the torque of the whole group, and the power of all where the machine has a power-enable.</summary>
    private void EscalateFailedStop(FaultCode code)
    {
        if (code != FaultCode.StopFailed)
        {
            return;
        }

        _board.Outputs.StopFailed(Index);
        if (Definition.Group is { } group)
        {
            var members = _board.Machine.Groups[group].Axes;
            for (var i = 0; i < members.Count; i++)
            {
                if (members[i] != Index)
                {
                    _board.Latch.RequestCut(members[i]);
                }
            }
        }
    }

    private void TellStop(in MeasuredStop stop) => _channel.Stops.TryWrite(stop);
}
