using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Alarms;

/// <summary>Members of the builder's own alarms and counters in a machine file.</summary>
internal static class AlarmShapes
{
    public static readonly ObjectShape Alarm = new("alarm", "number", "name", "priority", "cause", "remedy", "texts", "latched", "input", "counter");

    public static readonly ObjectShape Texts = new("alarmTexts", "name", "cause", "remedy");

    public static readonly ObjectShape Input = new("alarmInput", "input", "raisedWhile", "onDelayMs", "offDelayMs", "whenSilent", "staleMs");

    public static readonly ObjectShape Counter = new("alarmCounter", "name", "atLeast");

    public static readonly ObjectShape Counted = new("counter", "name", "input");

    public static readonly ObjectShape CountedInput = new("countedInput", "input", "counts", "settleMs", "staleMs");

    public static readonly IReadOnlyList<ObjectShape> All = [Alarm, Texts, Input, Counter, Counted, CountedInput];
}
