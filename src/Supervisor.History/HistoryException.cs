namespace Supervisor.History;

/// <summary>The history can't be used as asked; the message says which file, why and what to do.</summary>
public sealed class HistoryException : Exception
{
    public HistoryException()
    {
    }

    public HistoryException(string message)
        : base(message)
    {
    }

    public HistoryException(string message, Exception inner)
        : base(message, inner)
    {
    }
}
