using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.Traces;

/// <summary>A sample as <c>trace --json</c> prints it, one a line; a channel that was not asked for, or is not known, is null.</summary>
public sealed record TraceSampleJson(string Axis, string Unit, long MonotonicUs, uint Cycle)
{
    public double? Position { get; init; }

    public double? Commanded { get; init; }

    public double? Velocity { get; init; }

    public double? Torque { get; init; }

    public double? Following { get; init; }

    public double? Reply { get; init; }

    public double? Misses { get; init; }

    public IReadOnlyList<string>? Inputs { get; init; }

    public string? State { get; init; }

    public string? Result { get; init; }

    public static TraceSampleJson Of(TraceSample sample, TraceAxis axis, IReadOnlyList<string> channels)
    {
        ArgumentNullException.ThrowIfNull(sample);
        ArgumentNullException.ThrowIfNull(axis);
        ArgumentNullException.ThrowIfNull(channels);
        return new TraceSampleJson(axis.Name, axis.Unit, sample.AtUs, sample.Cycle)
        {
            Position = Value("position"),
            Commanded = Value("commanded"),
            Velocity = Value("velocity"),
            Torque = Value("torque"),
            Following = Value("following"),
            Reply = Value("reply"),
            Misses = Value("misses"),
            Inputs = channels.Contains("inputs") ? [.. axis.Inputs.Where((_, bit) => (sample.Inputs >> bit & 1) != 0)] : null,
            State = channels.Contains("state") ? Text.Of(sample.State) : null,
            Result = channels.Contains("result") ? sample.Result.ToString() : null,
        };

        double? Value(string name) => channels.Contains(name) ? JsonOut.Number(TraceChannel.Numbers.Single(channel => channel.Name == name).Value(sample)) : null;
    }
}

/// <summary>A line of <c>trace --json</c>: a sample or a gap.</summary>
public sealed record TraceLineJson(TraceSampleJson? Sample, TraceGapJson? Gap);

/// <summary>Cycles of an axis without a sample.</summary>
public sealed record TraceGapJson(string Axis, long FromUs, long ToUs, int Cycles, string Cause);

/// <summary>Recordings, newest first.</summary>
public sealed record RecordingsJson(IReadOnlyList<RecordingJson> Recordings);

/// <summary>One recording.</summary>
public sealed record RecordingJson(
    long Sequence, string Time, bool TimeTrusted, long? Incident, string? Axis, string What, double BeforeS, double AfterS, int Events, int EventsBeyond, int Gaps, bool HasSamples);
