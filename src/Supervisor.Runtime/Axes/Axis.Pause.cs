namespace Supervisor.Runtime.Axes;

/// <content>
/// Nobody looked at the drive for longer than its line ever leaves it alone, and not because it was silent: the computer stood still. What the drive did
/// meanwhile is not known, so that no deadline is held against it before it was looked at again.
/// </content>
public sealed partial class Axis
{
    private TimeSpan _lookedAt;
    private TimeSpan _putOff;

    /// <summary>Three cycles, in which a drive on a busy line may be passed over, and one exchange with all its repeats. Also the time for the looks that show rest.</summary>
    private TimeSpan LongestUnlooked
    {
        get
        {
            var port = _board.Machine.Ports[Definition.Port];
            return (port.Cycle * 3) + (port.ResponseTimeout * (port.Retries + 1));
        }
    }

    /// <summary>
    /// Puts the deadline off after a pause, and each only once: on a line so bad that every look comes too late nothing would ever be told as failed.
    /// A press that lapses is none to be put off: it lets go.
    /// </summary>
    /// <returns>True while it is still to come.</returns>
    private bool AllowForPause(TimeSpan now)
    {
        var isPaused = now - _lookedAt > LongestUnlooked && !IsTimeoutUnderTest && _node != AxisNode.Jogging;
        if (isPaused && _deadline != _putOff && _deadline < now + LongestUnlooked)
        {
            _deadline = _putOff = now + LongestUnlooked;
        }

        return now < _deadline;
    }

    /// <summary>The drive was looked at, or did not answer.</summary>
    private void EndPause(TimeSpan now)
    {
        AllowForPause(now);
        _lookedAt = now;
    }
}
