namespace Supervisor.Records.Commands;

/// <summary>How a command ended. Every command ends exactly once.</summary>
/// <remarks>Numbers are stored: append, never renumber. The four ends follow PLCopen's motion function blocks (done, aborted by another, error on the call, error while running).</remarks>
public enum Outcome : byte
{
    /// <summary>Not ended yet.</summary>
    None = 0,

    /// <summary>Did what it says.</summary>
    Done = 1,

    /// <summary>A later command, a stop or an interlock took its place.</summary>
    Replaced = 2,

    /// <summary>Never began; the refusal says why.</summary>
    Refused = 3,

    /// <summary>Began and did not reach its end; the fault says why.</summary>
    Failed = 4,
}
