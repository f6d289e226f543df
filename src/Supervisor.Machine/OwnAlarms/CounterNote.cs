namespace Supervisor.Machine.OwnAlarms;

/// <summary>A counter for whoever keeps it over the end of the supervisor, or shows it.</summary>
public struct CounterNote
{
    /// <summary>Counts the changes of this run; 0: it is as an earlier run left it.</summary>
    public long Version;

    /// <summary>The count, 0 or more.</summary>
    public long Count;
}
