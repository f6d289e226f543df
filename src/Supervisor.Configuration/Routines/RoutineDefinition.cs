namespace Supervisor.Configuration.Routines;

/// <summary>A routine file, read and checked against a machine: immutable, axes resolved to indices.</summary>
public sealed record RoutineDefinition(string Name, IReadOnlyList<RoutineParameter> Parameters, IReadOnlyList<RoutineStep> Steps);

/// <summary>A value that may be changed between runs.</summary>
public sealed record RoutineParameter(string Name, double Default, double Minimum, double Maximum, string? Unit);

/// <summary>One step. Steps run in the file's order.</summary>
public abstract record RoutineStep(string Name)
{
    /// <summary>Number of the alarm that is raised when the step does not end well; it clears once the step ends well. Null: none.</summary>
    public int? FailureAlarm { get; init; }

    /// <summary>The alarm that is raised while the step takes too long; null: none.</summary>
    public TooLong? TooLong { get; init; }
}

/// <summary>A step that goes on after this time raises an alarm, which clears once it ends well. The step is not ended by it.</summary>
/// <param name="After">Time from its start.</param>
/// <param name="Alarm">Number of the alarm.</param>
public sealed record TooLong(TimeSpan After, int Alarm);

/// <summary>Moves one or several axes, all started together; ends when all have arrived.</summary>
/// <param name="Name">Name of the step.</param>
/// <param name="Targets">One entry an axis.</param>
/// <param name="Velocity">Unit/s; null: each axis's limit.</param>
public sealed record MoveStep(string Name, IReadOnlyList<AxisTarget> Targets, RoutineValue? Velocity) : RoutineStep(Name)
{
    /// <summary>Unit/s² at the start; null: each axis's limit.</summary>
    public RoutineValue? Acceleration { get; init; }

    /// <summary>Unit/s² at the end; null: each axis's limit. Halts and stops brake with the limit all the same.</summary>
    public RoutineValue? Deceleration { get; init; }

    /// <summary>Slow parts at start or end; null: none.</summary>
    public RoutineApproach? Approach { get; init; }
}

/// <summary>A low constant speed over a stated part of a move.</summary>
/// <param name="Velocity">Unit/s.</param>
/// <param name="EndDistance">Length of the slow part before the target, unit, 0 or more.</param>
/// <param name="StartDistance">Length of the slow part at the start, unit, 0 or more.</param>
public sealed record RoutineApproach(RoutineValue Velocity, RoutineValue EndDistance, RoutineValue StartDistance);

/// <summary>Moves towards a position until a torque is met.</summary>
/// <param name="Name">Name of the step.</param>
/// <param name="Axis">Index of the axis.</param>
/// <param name="Toward">Farthest position, unit.</param>
/// <param name="Torque">Percent of rated.</param>
/// <param name="Velocity">Unit/s.</param>
public sealed record ContactStep(string Name, int Axis, RoutineValue Toward, RoutineValue Torque, RoutineValue Velocity) : RoutineStep(Name);

/// <summary>Waits.</summary>
public sealed record WaitStep(string Name, TimeSpan Duration) : RoutineStep(Name);

/// <summary>Waits until an input is closed (true) or open (false); the routine fails when the time runs out.</summary>
public sealed record WaitInputStep(string Name, int Axis, string Input, bool Closed, TimeSpan Timeout) : RoutineStep(Name);

/// <summary>Sets a digital output: one that the machine file names (<paramref name="Axis"/> -1), or a drive's by the name in its definition.</summary>
public sealed record SetOutputStep(string Name, int Axis, string Output, bool On) : RoutineStep(Name);

/// <summary>Raises an alarm of the machine file, which stands until a step clears it.</summary>
public sealed record RaiseAlarmStep(string Name, int Number) : RoutineStep(Name);

/// <summary>Clears an alarm of the machine file.</summary>
public sealed record ClearAlarmStep(string Name, int Number) : RoutineStep(Name);

/// <summary>Adds to a counter of the machine file, by its index.</summary>
public sealed record CountStep(string Name, int Counter, int By) : RoutineStep(Name);

/// <summary>Runs earlier steps again.</summary>
/// <param name="Name">Name of the step.</param>
/// <param name="Steps">Indices of the steps to run, none of them at or after this one.</param>
/// <param name="Times">How often, 1 or more.</param>
public sealed record RepeatStep(string Name, IReadOnlyList<int> Steps, int Times) : RoutineStep(Name);

/// <summary>Where an axis goes.</summary>
public sealed record AxisTarget(int Axis, RoutineValue Value, bool Relative)
{
    /// <summary>Way to a position of an endless axis.</summary>
    public RoutineDirection Direction { get; init; }
}

/// <summary>Which way a position of an endless axis is approached.</summary>
public enum RoutineDirection : byte
{
    /// <summary>The shorter one.</summary>
    Shortest = 0,

    /// <summary>Towards rising positions, whatever the distance.</summary>
    Positive = 1,

    /// <summary>Towards falling positions, whatever the distance.</summary>
    Negative = 2,
}

/// <summary>A number, or a parameter of the routine.</summary>
/// <param name="Number">The number; counts when <paramref name="Parameter"/> is null.</param>
/// <param name="Parameter">Name of the parameter, without the <c>$</c>.</param>
public readonly record struct RoutineValue(double Number, string? Parameter);
