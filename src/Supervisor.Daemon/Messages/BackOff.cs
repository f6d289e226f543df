namespace Supervisor.Daemon.Messages;

/// <summary>
/// How long a channel waits after attempts that failed in a row: 5 s, twice as long after each, 5 minutes at most, so that a network that is back is found
/// within that time. A server that asks for longer gets it, up to six hours.
/// </summary>
internal static class BackOff
{
    private static readonly TimeSpan First = TimeSpan.FromSeconds(5);
    private static readonly TimeSpan Longest = TimeSpan.FromMinutes(5);
    private static readonly TimeSpan LongestAsked = TimeSpan.FromHours(6);

    /// <param name="failures">Attempts that failed in a row, from 1.</param>
    /// <param name="asked">What the server asked for; null: nothing.</param>
    public static TimeSpan After(int failures, TimeSpan? asked)
    {
        var wait = First * Math.Pow(2, Math.Clamp(failures - 1, 0, 10));
        wait = wait < Longest ? wait : Longest;
        return asked is { } longer && longer > wait ? longer < LongestAsked ? longer : LongestAsked : wait;
    }
}
