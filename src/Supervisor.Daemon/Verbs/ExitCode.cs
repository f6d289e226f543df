namespace Supervisor.Daemon.Verbs;

/// <summary>What the process answers to its caller.</summary>
public static class ExitCode
{
    public const int Done = 0;

    /// <summary>Refused, failed, or the connection was lost.</summary>
    public const int Failed = 1;

    /// <summary>The command line or a file is wrong. A service manager must not try again.</summary>
    public const int Usage = 2;

    /// <summary>No daemon answers.</summary>
    public const int NotReached = 3;

    /// <summary>Ended by Ctrl-C (128 and the number of SIGINT, as shells count).</summary>
    public const int Interrupted = 130;
}
