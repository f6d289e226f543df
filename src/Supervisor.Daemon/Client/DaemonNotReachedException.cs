namespace Supervisor.Daemon.Client;

/// <summary>No daemon answers; the message says where it was looked for and what to do.</summary>
public sealed class DaemonNotReachedException : Exception
{
    public DaemonNotReachedException()
    {
    }

    public DaemonNotReachedException(string message)
        : base(message)
    {
    }

    public DaemonNotReachedException(string message, Exception inner)
        : base(message, inner)
    {
    }
}
