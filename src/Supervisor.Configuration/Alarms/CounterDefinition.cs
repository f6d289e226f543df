using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Alarms;

/// <summary>A number that rises by edges of an input, by steps of routines, or by both, until a person resets it. It is kept over a restart.</summary>
/// <param name="Name">Name as the machine's people call it.</param>
/// <param name="Input">The input whose edges it counts; null: steps only.</param>
public sealed record CounterDefinition(string Name, CountedInput? Input);

/// <summary>An input whose edges are counted. What happened while its source was silent is not.</summary>
/// <param name="Input">Where it is read. A level that lasts less than two readings of its source may be missed.</param>
/// <param name="Closings">True: a closing counts; false: an opening.</param>
/// <param name="Settle">How long a level must last to be taken for one, 0 to 1 h: what bounces counts once.</param>
/// <param name="StaleAfter">Age from which its last value counts as silence.</param>
public sealed record CountedInput(InputReference Input, bool Closings, TimeSpan Settle, TimeSpan StaleAfter);
