using Supervisor.Configuration.Machines;

namespace Supervisor.Machine.Recovery;

/// <summary>Attempts of one axis under one entry of the machine file: how many are left in its window, and how long to wait before the next.</summary>
internal sealed class RecoveryBudget(RecoveryDefinition rule)
{
    private readonly List<TimeSpan> _attempts = [];

    /// <summary>Attempts made within the window.</summary>
    public int Made(TimeSpan now)
    {
        var count = 0;
        foreach (var attempt in _attempts)
        {
            count += now - attempt < rule.Within ? 1 : 0;
        }

        return count;
    }

    public bool IsUsedUp(TimeSpan now) => Made(now) >= rule.Attempts;

    public TimeSpan Wait(TimeSpan now) => rule.BackOff.Before(Made(now));

    public void Note(TimeSpan now)
    {
        _attempts.RemoveAll(attempt => now - attempt >= rule.Within);
        _attempts.Add(now);
    }
}
