using Supervisor.Records.Alarms;

namespace Supervisor.Machine.Alarms;

/// <summary>A step in the life of an alarm that the history keeps beside faults.</summary>
/// <param name="At">Monotonic time.</param>
/// <param name="Key">Which alarm.</param>
/// <param name="Change">What happened.</param>
/// <param name="By">Who did it; empty where nobody did.</param>
/// <param name="Text">The reason given, or what the alarm is about; may be empty.</param>
/// <param name="Until">For one that is taken out of service: when it returns by itself, monotonic time.</param>
public readonly record struct AlarmNote(TimeSpan At, AlarmKey Key, AlarmChange Change, string By, string Text, TimeSpan? Until);
