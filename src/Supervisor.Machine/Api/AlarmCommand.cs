using Supervisor.Records.Alarms;

namespace Supervisor.Machine.Api;

/// <summary>What people do with alarms. It resets no axis, starts nothing, permits no motion, and needs no authority.</summary>
/// <param name="By">Name of the person or program.</param>
public abstract record AlarmCommand(string By) : UnheldCommand(By);

/// <summary>A person says that they know of alarms. None of them is reset by it.</summary>
/// <param name="Alarms">Which; an empty list means all.</param>
/// <param name="By">Name of the person or program.</param>
public sealed record AcknowledgeCommand(IReadOnlyList<AlarmChoice> Alarms, string By) : AlarmCommand(By);

/// <summary>
/// Takes alarms out of service for a limited time: they call nobody meanwhile, and are recorded and stop what they stop all the same. One that is out of
/// service already gets the new time, but for one of high priority, which has to come back in between.
/// </summary>
/// <param name="Alarms">Which.</param>
/// <param name="For">How long, at most what the machine file allows, and <see cref="Alarms.AlarmRules.LongestHigh"/> for one of high priority.</param>
/// <param name="Reason">Why, for whoever finds it so.</param>
/// <param name="By">Name of the person or program.</param>
public sealed record OutOfServiceCommand(IReadOnlyList<AlarmKey> Alarms, TimeSpan For, string Reason, string By) : AlarmCommand(By);

/// <summary>Puts alarms back into service before their time is over.</summary>
/// <param name="Alarms">Which.</param>
/// <param name="By">Name of the person or program.</param>
public sealed record BackInServiceCommand(IReadOnlyList<AlarmKey> Alarms, string By) : AlarmCommand(By);

/// <summary>Alarms as a person names them.</summary>
/// <param name="Number">Of this number; null: of any.</param>
/// <param name="Source">About this; null: about anything.</param>
/// <param name="Seen">The occurrence that the person has seen, see <see cref="AlarmStatus.Occurrence"/>: a later one is not acknowledged by it; null: whichever is the last.</param>
public readonly record struct AlarmChoice(int? Number, AlarmSource? Source, long? Seen = null);
