using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Signals;

namespace Supervisor.Daemon.Verbs;

/// <summary>Own alarms, counters, lights and horn of a good machine file, one line each.</summary>
internal static class CheckedAlarms
{
    public static IEnumerable<string> Lines(MachineDefinition machine)
    {
        if (machine.Alarms.Count > 0)
        {
            yield return $"own alarms: {machine.Alarms.Count}, texts in {string.Join(", ", machine.Languages.Tags)}";
        }

        foreach (var alarm in machine.Alarms)
        {
            yield return $"alarm {alarm.Number} {alarm.Name}: {Lower(alarm.Priority)}, {Source(machine, alarm)}{(alarm.Latched ? ", stays until its reset" : "")}";
        }

        foreach (var counter in machine.Counters)
        {
            yield return $"counter {counter.Name}: {(counter.Input is { } input ? $"{(input.Closings ? "closings" : "openings")} of {input.Input.Text}" : "steps of routines")}";
        }

        foreach (var light in machine.Signals.Lights)
        {
            yield return $"light {light.Name}: {light.Output.Text}, {Lower(light.Colour)}{States(", steady while ", light.Steady)}{States($", flashing at {Text.Of(light.FlashHz)} Hz while ", light.Flashing)}, loss {Lower(light.AtLoss)}";
        }

        if (machine.Signals.Horn is { } horn)
        {
            yield return $"horn: {horn.Output.Text}, from {Lower(horn.From)} priority, at most {Text.Of(horn.Longest.TotalSeconds)} s, "
                + $"{(horn.SilenceInput is { } button ? $"silenced by {button.Text} or by command" : "silenced by command")}, loss {Lower(horn.AtLoss)}";
        }
    }

    private static string Source(MachineDefinition machine, OwnAlarmDefinition alarm) => alarm switch
    {
        { Input: { } input } => $"{input.Input.Text} {(input.RaisedWhileClosed ? "closed" : "open")} for {Text.Of(input.OnDelay.TotalMilliseconds)} ms, "
            + $"gone after {Text.Of(input.OffDelay.TotalMilliseconds)} ms, silence {Silence(input.WhenSilent)}",
        { Counter: { } counter } => $"counter {machine.Counters[counter.Counter].Name} from {counter.AtLeast} on",
        _ => "raised by steps of routines",
    };

    private static string Silence(SilentInput silent) => silent switch
    {
        SilentInput.Raise => "raises it",
        SilentInput.Clear => "clears it",
        _ => "changes nothing",
    };

    private static string States(string what, SignalStates states) => states == SignalStates.None ? "" : what + string.Join(", ", states.Words());

    private static string Lower<T>(T value)
        where T : struct, Enum => value.ToString().ToLowerInvariant();
}
