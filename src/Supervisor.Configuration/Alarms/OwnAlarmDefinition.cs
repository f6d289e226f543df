using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Alarms;

/// <summary>An alarm of whoever built the machine. It tells and calls, and stops nothing: what must stop axes is an interlock.</summary>
/// <param name="Number">1000 to 9999, once in a file; what is below is the supervisor's own.</param>
/// <param name="Priority">How urgent it is among others.</param>
/// <param name="Texts">By language, in the order of <see cref="MachineDefinition.Languages"/>.</param>
public sealed record OwnAlarmDefinition(int Number, FaultPriority Priority, IReadOnlyList<OwnAlarmTexts> Texts)
{
    /// <summary>Least number.</summary>
    public const int LeastNumber = 1000;

    /// <summary>Greatest number.</summary>
    public const int GreatestNumber = 9999;

    /// <summary>Its name in the file's first language, by which logs and records call it.</summary>
    public string Name => Texts[0].Name;

    /// <summary>It stays, once raised, until a person resets it, also when its cause is gone.</summary>
    public bool Latched { get; init; }

    /// <summary>The input that raises it; null: none.</summary>
    public AlarmInput? Input { get; init; }

    /// <summary>The counter that raises it; null: none. Without input and counter it is raised by steps of routines only.</summary>
    public AlarmCounter? Counter { get; init; }
}

/// <summary>What an alarm says in one language.</summary>
/// <param name="Name">Short, such as "seed hopper low".</param>
/// <param name="Cause">What it comes from.</param>
/// <param name="Remedy">What to do.</param>
public sealed record OwnAlarmTexts(string Name, string Cause, string Remedy);

/// <summary>An input that raises an alarm.</summary>
/// <param name="Input">Where it is read.</param>
/// <param name="RaisedWhileClosed">The level that raises it: true closed, false open.</param>
/// <param name="OnDelay">How long it must have that level without a break, 0 to 1 h.</param>
/// <param name="OffDelay">How long it must then have the other one without a break, 0 to 1 h.</param>
/// <param name="WhenSilent">What a source that does not answer means.</param>
/// <param name="StaleAfter">Age from which its last value counts as silence.</param>
public sealed record AlarmInput(InputReference Input, bool RaisedWhileClosed, TimeSpan OnDelay, TimeSpan OffDelay, SilentInput WhenSilent, TimeSpan StaleAfter);

/// <summary>What an input whose source does not answer means for an alarm.</summary>
public enum SilentInput
{
    /// <summary>The alarm stays as it is; the times begin anew once the source answers.</summary>
    Keep = 0,

    /// <summary>As the level that raises it.</summary>
    Raise = 1,

    /// <summary>As the level that clears it.</summary>
    Clear = 2,
}

/// <summary>A counter that raises an alarm.</summary>
/// <param name="Counter">Index into <see cref="MachineDefinition.Counters"/>.</param>
/// <param name="AtLeast">The count from which it stands, 1 or more; it clears when the counter is reset.</param>
public sealed record AlarmCounter(int Counter, long AtLeast);
