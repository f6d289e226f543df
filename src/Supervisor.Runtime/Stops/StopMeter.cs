using Supervisor.Records.Faults;
using Supervisor.Records.Stops;

namespace Supervisor.Runtime.Stops;

/// <summary>Measures one stop at a time from the feedback of an axis. Pure: time and readings are arguments.</summary>
internal struct StopMeter
{
    // What is not at rest by then is told as such; its own deadline has long made a fault of it.
    private static readonly TimeSpan Longest = TimeSpan.FromSeconds(60);

    private MeasuredStop _stop;
    private double _from;
    private TimeSpan _restSeenAt;
    private int _restSeen;

    /// <summary>A stop is being measured.</summary>
    public bool IsRunning { get; private set; }

    /// <summary>Velocity when it began, unit/s; meaningful while it runs.</summary>
    public readonly double Velocity => _stop.Velocity;

    /// <summary>When it began; meaningful while it runs.</summary>
    public readonly TimeSpan Since => _stop.TrippedAt;

    /// <summary>Rest was seen.</summary>
    public readonly bool IsAtRest => _stop.RestAfter != TimeSpan.MaxValue;

    /// <summary>Begins; a graver stop during one that runs keeps the first one's beginning.</summary>
    public void Begin(short axis, int category, ulong causes, double position, double velocity, FaultCode fault, TimeSpan now)
    {
        if (IsRunning)
        {
            _stop = _stop with { Category = Math.Min(category, _stop.Category), Causes = _stop.Causes | causes };
            return;
        }

        IsRunning = true;
        _from = position;
        _restSeen = 0;
        _stop = new MeasuredStop(axis, category, causes, now, velocity, 0, TimeSpan.MaxValue, TimeSpan.MaxValue) { Fault = fault };
    }

    /// <summary>Takes a feedback; true when the stop is measured, which <paramref name="measured"/> then is.</summary>
    /// <param name="position">Unit, not wrapped.</param>
    /// <param name="isStanding">The velocity is that of an axis at rest.</param>
    /// <param name="isPowered">The drive shows torque on.</param>
    /// <param name="now">Monotonic time.</param>
    /// <param name="measured">The stop.</param>
    public bool Take(double position, bool isStanding, bool isPowered, TimeSpan now, out MeasuredStop measured)
    {
        var after = now - _stop.TrippedAt;
        _stop = _stop with { Distance = Math.Max(_stop.Distance, Math.Abs(position - _from)) };
        if (!isPowered && _stop.OffAfter == TimeSpan.MaxValue)
        {
            _stop = _stop with { OffAfter = after };
        }

        TakeRest(isStanding, after);
        measured = _stop;
        IsRunning = !(_stop.IsComplete || after > Longest);
        return !IsRunning;
    }

    /// <summary>Ends without having seen all of it, as when the drive no longer answers.</summary>
    public MeasuredStop Abandon()
    {
        IsRunning = false;
        return _stop;
    }

    /// <summary>Forgets a stop that was called off: nothing is told of it.</summary>
    public void Discard() => IsRunning = false;

    // Two feedbacks in a row, so that a reversal that shows no speed for a moment is not taken for rest; the first of them counts.
    private void TakeRest(bool isStanding, TimeSpan after)
    {
        if (!isStanding)
        {
            _restSeen = 0;
            _stop = _stop with { RestAfter = TimeSpan.MaxValue };
            return;
        }

        _restSeenAt = _restSeen == 0 ? after : _restSeenAt;
        if (++_restSeen >= 2)
        {
            _stop = _stop with { RestAfter = _restSeenAt };
        }
    }
}
