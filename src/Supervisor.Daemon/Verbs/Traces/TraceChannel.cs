using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.Traces;

/// <summary>One quantity of a sample, by the name that people give it.</summary>
/// <param name="Name">Its name.</param>
/// <param name="PerAxisUnit">What comes behind the axis's unit; null: the unit is <paramref name="Unit"/>.</param>
/// <param name="Unit">Its unit where that is not the axis's.</param>
/// <param name="Value">Its value; NaN when it is not known.</param>
public sealed record TraceChannel(string Name, string? PerAxisUnit, string Unit, Func<TraceSample, double> Value)
{
    /// <summary>Channels whose values are numbers.</summary>
    public static IReadOnlyList<TraceChannel> Numbers { get; } =
    [
        new("position", "", "", sample => sample.HasPosition ? sample.Position : double.NaN),
        new("commanded", "", "", sample => sample.CommandedPosition),
        new("velocity", "/s", "", sample => sample.Velocity),
        new("torque", null, "%", sample => sample.Torque),
        new("following", "", "", sample => sample.HasFollowingError ? sample.FollowingError : double.NaN),
        new("reply", null, "ms", sample => sample.ReplyMs),
        new("misses", null, "", sample => sample.Misses),
    ];

    /// <summary>Channels of bits and words, which are shown in their own ways.</summary>
    public static IReadOnlyList<string> Words { get; } = ["inputs", "state", "result"];

    /// <summary>Every name.</summary>
    public static IEnumerable<string> Names => Numbers.Select(channel => channel.Name).Concat(Words);

    /// <summary>What is shown unless asked otherwise.</summary>
    public static IReadOnlyList<string> Usual { get; } = ["position", "velocity", "torque", "following", "inputs"];

    /// <summary>Its unit for an axis.</summary>
    public string UnitOf(string axisUnit) => PerAxisUnit is null ? Unit : axisUnit + PerAxisUnit;
}
