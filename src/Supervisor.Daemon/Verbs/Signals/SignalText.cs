using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.Signals;

/// <summary>Signal lights and horn in the status: one line each.</summary>
internal static class SignalText
{
    public static IEnumerable<string> Lines(MachineStatus status)
    {
        foreach (var light in status.Lights)
        {
            var colour = Word(light.Colour);
            var what = light.Look switch
            {
                SignalLook.Flashing => $"flashing: {light.Text}",
                SignalLook.Steady when light.Because.Count == 0 => "on: lamp test",
                SignalLook.Steady => $"on: {light.Text}",
                _ => "dark",
            };
            yield return $"light {light.Name} ({colour}): {what}{(light.Answers ? "" : $"; {light.Place} does not answer")}";
        }

        if (status.Horn is { } horn)
        {
            yield return $"horn: {(horn.Sounds ? "sounds" : "silent")}{(horn.HasOn ? "" : $"; {horn.Place} does not answer")}";
        }
    }

    public static LightJson ToJson(SignalLight light) => new(
        light.Name, light.Place, Word(light.Colour), light.Look.ToString().ToLowerInvariant(), light.Text, light.Because, light.HasOn ? light.On : null, light.Answers);

    public static HornJson? ToJson(Horn? horn) => horn is null ? null : new HornJson(horn.Place, horn.Sounds, horn.HasOn ? horn.On : null);

    private static string Word(SignalColour colour) => colour.ToString().ToLowerInvariant();
}

/// <summary>A signal light: <c>look</c> is dark, steady or flashing; <c>on</c> its level as confirmed, null while it flashes or is not known.</summary>
public sealed record LightJson(string Name, string Output, string Colour, string Look, string Text, IReadOnlyList<string> Because, bool? On, bool Answers);

/// <summary>The horn.</summary>
public sealed record HornJson(string Output, bool Sounds, bool? On);

/// <summary>The machine file's counters.</summary>
public sealed record CountersJson(IReadOnlyList<CounterJson> Counters);

/// <summary>A counter, with the alarm that it raises; null: none.</summary>
public sealed record CounterJson(string Name, long Count, int? Alarm, long? AlarmAt);

/// <summary>What became of something.</summary>
public sealed record MessageJson(string Message);
