using Supervisor.Machine.Api;

namespace Supervisor.Production.Routines;

/// <summary>How a routine ended.</summary>
public enum RoutineEnd
{
    /// <summary>Every step did what it says.</summary>
    Completed = 0,

    /// <summary>A step was refused, was replaced, failed, or waited in vain; the steps behind it were not begun.</summary>
    Stopped = 1,

    /// <summary>Whoever started it ended it; its axes were stopped.</summary>
    Cancelled = 2,

    /// <summary>A parameter was unknown or out of range; nothing was begun.</summary>
    NotStarted = 3,
}

/// <summary>How a routine ended, and where.</summary>
/// <param name="End">How.</param>
/// <param name="Step">The step it ended at; null when it completed or never began.</param>
/// <param name="Answer">The answer that stopped it; null when it was not a command's.</param>
/// <param name="Message">A sentence for a person: where it ended, why and what to do.</param>
public sealed record RoutineResult(RoutineEnd End, RoutineProgress? Step, CommandAnswer? Answer, string Message)
{
    /// <summary>How its axes were loaded from its start to its end; empty when it did not start, or no drive reports torque.</summary>
    public IReadOnlyList<AxisLoad> Loads { get; init; } = [];
}

/// <summary>The step that is about to run.</summary>
/// <param name="Index">Its place in the file, from 0.</param>
/// <param name="Name">Its name.</param>
/// <param name="Repeat">Name of the innermost repeat that runs it; null outside of one.</param>
/// <param name="Repetition">Which repetition of that, from 1; 0 outside of one.</param>
/// <param name="Repetitions">How many there will be; 0 outside of one.</param>
public sealed record RoutineProgress(int Index, string Name, string? Repeat, int Repetition, int Repetitions)
{
    /// <summary>Such as <c>step 4 "dib" (2 of 3 of "again")</c>.</summary>
    public override string ToString() =>
        $"step {Index + 1} \"{Name}\"" + (Repeat is null ? "" : $" ({Repetition} of {Repetitions} of \"{Repeat}\")");
}
