namespace Supervisor.Scenarios.World;

/// <summary>One thread, one clock, everything in its turn: actions by time, and by order of arrival at the same time.</summary>
public sealed class EventQueue
{
    private readonly PriorityQueue<Action, (TimeSpan At, long Order)> _queue = new();
    private long _order;

    /// <summary>Simulated time since boot.</summary>
    public TimeSpan Now { get; private set; } = TimeSpan.FromSeconds(100);

    /// <summary>Puts an action at a time; one that has passed runs next.</summary>
    public void At(TimeSpan at, Action action) => _queue.Enqueue(action, (at < Now ? Now : at, _order++));

    /// <summary>Puts an action after a time from now.</summary>
    public void After(TimeSpan delay, Action action) => At(Now + delay, action);

    /// <summary>Runs everything up to a time.</summary>
    public void RunUntil(TimeSpan end)
    {
        while (_queue.TryPeek(out var action, out var key) && key.At <= end)
        {
            _queue.Dequeue();
            Now = key.At;
            action();
        }

        Now = end;
    }

    /// <summary>Runs until a condition holds; false when it does not within the time.</summary>
    public bool RunUntil(Func<bool> condition, TimeSpan within)
    {
        var end = Now + within;
        while (!condition())
        {
            if (!_queue.TryPeek(out var action, out var key) || key.At > end)
            {
                Now = end;
                return condition();
            }

            _queue.Dequeue();
            Now = key.At;
            action();
        }

        return true;
    }
}
