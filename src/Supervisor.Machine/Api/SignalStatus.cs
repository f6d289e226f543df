using Supervisor.Configuration.Signals;

namespace Supervisor.Machine.Api;

/// <summary>What a signal light shows.</summary>
public enum LightLook : byte
{
    Dark = 0,
    Steady = 1,
    Flashing = 2,
}

/// <summary>One signal light. Not a safety function: a light that is dark proves nothing.</summary>
/// <param name="Definition">As the machine file has it, with its texts.</param>
/// <param name="Look">What it is to show.</param>
/// <param name="Because">Those of its states that hold; all lit by a lamp test: <see cref="SignalStates.None"/>.</param>
/// <param name="On">Its level as its place confirmed it; null while it is not known, and while it flashes.</param>
/// <param name="Answers">Its place answers.</param>
public sealed record LightStatus(LightDefinition Definition, LightLook Look, SignalStates Because, bool? On, bool Answers);

/// <summary>The horn.</summary>
/// <param name="Place">Where it is.</param>
/// <param name="Sounds">It is to sound.</param>
/// <param name="On">Its level as its place confirmed it; null while it is not known.</param>
public sealed record HornStatus(string Place, bool Sounds, bool? On);
