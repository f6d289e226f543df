using System.Text;

namespace Supervisor.Runtime;

/// <summary>Names of threads, as the kernel shows them under /proc/PID/task/TID/comm: 15 bytes at most (PR_SET_NAME in prctl(2)).</summary>
public static class ThreadName
{
    private const int MostBytes = 15;
    private const int TailBytes = 4;
    private const char Left = '~';

    /// <summary>
    /// What a thread does and for whom: <c>port line-a</c>. One that is too long loses its middle, as names of one machine mostly differ at
    /// their ends: <c>port conve~ft-2</c>. Characters of more than one byte become a question mark.
    /// </summary>
    /// <param name="kind">What it does, at most 8 letters of ASCII.</param>
    /// <param name="name">Name of the port or chip.</param>
    public static string Of(string kind, string name)
    {
        ArgumentException.ThrowIfNullOrEmpty(kind);
        ArgumentNullException.ThrowIfNull(name);
        var whole = Encoding.ASCII.GetString(Encoding.ASCII.GetBytes($"{kind} {name}"));
        return whole.Length <= MostBytes ? whole : $"{whole[..(MostBytes - TailBytes - 1)]}{Left}{whole[^TailBytes..]}";
    }
}
