namespace Supervisor.Daemon.Demo;

/// <summary>Something in the demo did not happen as it must; the message says what.</summary>
public sealed class DemoFailedException : Exception
{
    public DemoFailedException()
    {
    }

    public DemoFailedException(string message)
        : base(message)
    {
    }

    public DemoFailedException(string message, Exception inner)
        : base(message, inner)
    {
    }
}
