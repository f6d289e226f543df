namespace Supervisor.Configuration.Machines;

/// <summary>What becomes of authority whose holder is lost.</summary>
/// <param name="RefreshWithin">Longest time between two refreshes of a holder; null: its stream alone holds it.</param>
/// <param name="OnLapse">What becomes of its motion.</param>
public sealed record AuthorityDefinition(TimeSpan? RefreshWithin, LapseAction OnLapse)
{
    /// <summary>What holds where the file says nothing.</summary>
    public static AuthorityDefinition Default { get; } = new(null, LapseAction.Stop);
}

/// <summary>What becomes of motion whose commander is lost. A jog and a run without end always stop.</summary>
public enum LapseAction : byte
{
    /// <summary>It stops in category 2.</summary>
    Stop = 0,

    /// <summary>In production mode it runs to its end; in the others it stops.</summary>
    Finish = 1,
}
