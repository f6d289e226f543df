using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Signals;

/// <summary>Members of signal lights and horn in a machine file.</summary>
internal static class SignalShapes
{
    public static readonly ObjectShape Signals = new("signals", "lights", "horn", "lampTestMs");

    public static readonly ObjectShape Light = new(
        "light", "name", "output", "activeLow", "colour", "text", "texts", "steadyWhile", "flashingWhile", "flashHz", "atLoss");

    public static readonly ObjectShape Horn = new("horn", "output", "activeLow", "soundsFrom", "longestMs", "silenceInput", "staleMs", "atLoss");

    public static readonly IReadOnlyList<ObjectShape> All = [Signals, Light, Horn];
}
