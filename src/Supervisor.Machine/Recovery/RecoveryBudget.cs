using Supervisor.Configuration.Machines;

namespace Supervisor.Machine.Recovery;

/// <summary>Attempts of one axis's recoveries: how many are left in the file's window, and how long to wait before the next.</summary>
internal sealed class RecoveryBudget
{
    private static readonly TimeSpan FirstWait = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan LongestWait = TimeSpan.FromSeconds(30);
    private readonly List<TimeSpan> _attempts = [];

    /// <summary>Attempts made within the rule's window.</summary>
    public int Made(RecoveryDefinition rule, TimeSpan now)
    {
        var count = 0;
        foreach (var attempt in _attempts)
        {
            count += now - attempt < rule.Within ? 1 : 0;
        }

        return count;
    }

    public bool IsUsedUp(RecoveryDefinition rule, TimeSpan now) => Made(rule, now) >= rule.Attempts;

    /// <summary>1 s, 2 s, 4 s and so on, at most 30 s.</summary>
    public TimeSpan Wait(RecoveryDefinition rule, TimeSpan now)
    {
        var doubled = FirstWait * Math.Pow(2, Math.Min(Made(rule, now), 10));
        return doubled < LongestWait ? doubled : LongestWait;
    }

    public void Note(RecoveryDefinition rule, TimeSpan now)
    {
        _attempts.RemoveAll(attempt => now - attempt >= rule.Within && now - attempt >= TimeSpan.FromHours(24));
        _attempts.Add(now);
    }
}
