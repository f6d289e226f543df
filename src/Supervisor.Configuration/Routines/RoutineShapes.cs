using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Routines;

/// <summary>Members of a routine file.</summary>
internal static class RoutineShapes
{
    public static readonly ObjectShape File = new("routineFile", "$schema", "name", "parameters", "steps");

    public static readonly ObjectShape Parameter = new("parameter", "default", "minimum", "maximum", "unit");

    public static readonly ObjectShape Step = new(
        "step", "name", "move", "velocity", "acceleration", "deceleration", "approach", "contact", "waitMs", "waitInput", "setOutput", "raiseAlarm", "clearAlarm", "count", "repeat",
        "failureAlarm", "tooLong");

    public static readonly ObjectShape Target = new("target", "by", "to", "direction");

    public static readonly ObjectShape Approach = new("approach", "velocity", "endDistance", "startDistance");

    public static readonly ObjectShape Contact = new("contact", "axis", "toward", "torque", "velocity");

    public static readonly ObjectShape WaitInput = new("waitInput", "input", "closed", "timeoutMs");

    public static readonly ObjectShape SetOutput = new("setOutput", "output", "on");

    public static readonly ObjectShape Count = new("count", "counter", "by");

    public static readonly ObjectShape TooLong = new("tooLong", "afterMs", "alarm");

    public static readonly ObjectShape Repeat = new("repeat", "steps", "times");

    /// <summary>Members of a step of which each step has exactly one.</summary>
    public static readonly IReadOnlyList<string> Actions = ["move", "contact", "waitMs", "waitInput", "setOutput", "raiseAlarm", "clearAlarm", "count", "repeat"];

    /// <summary>Members of a step that say how it moves.</summary>
    public static readonly IReadOnlyList<string> Motions = ["velocity", "acceleration", "deceleration", "approach"];

    public static readonly IReadOnlyList<ObjectShape> All = [File, Parameter, Step, Target, Approach, Contact, WaitInput, SetOutput, Count, TooLong, Repeat];
}
