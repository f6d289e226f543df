using Supervisor.Api.V1;
using Supervisor.Daemon.Verbs.Messages;
using Supervisor.Records;

namespace Supervisor.Daemon.Verbs;

/// <summary>The status as plain text, one line a thing.</summary>
internal static class StatusText
{
    // A board is late now and then; a thread that hangs is so for good.
    private const double SilentThreadMs = 2000;

    public static void Print(MachineStatus status, TextWriter to)
    {
        to.WriteLine(Heading(status));
        var width = status.Axes.Select(axis => axis.Name.Length).Append(0).Max();
        foreach (var axis in status.Axes)
        {
            to.WriteLine($"  {Line(axis, width)}".TrimEnd());
        }

        foreach (var interlock in status.Interlocks)
        {
            to.WriteLine($"  {Line(interlock)}");
        }

        foreach (var zone in status.Zones)
        {
            to.WriteLine($"  {Line(zone)}");
        }

        foreach (var line in Outputs(status))
        {
            to.WriteLine($"  {line}");
        }

        foreach (var line in Signals.SignalText.Lines(status))
        {
            to.WriteLine($"  {line}");
        }

        foreach (var port in status.Ports)
        {
            to.WriteLine($"  {Line(port)}");
        }

        foreach (var line in (string?[])[Line(status.Alarms), Line(status.History)])
        {
            if (line is not null)
            {
                to.WriteLine($"  {line}");
            }
        }

        foreach (var channel in status.MessageChannels.Where(channel => channel.Waiting > 0 || channel.HasFailingForS || channel.GivenUp > 0))
        {
            to.WriteLine($"  {MessagesVerb.Line(channel)}");
        }
    }

    public static string Heading(MachineStatus status) =>
        $"{status.Machine}: {status.Mode}, motion {(status.MotionPermitted ? "permitted" : "not permitted")}, "
        + (status.HasAuthorityHolder ? $"authority held by {status.AuthorityHolder}" : "nobody holds authority");

    public static string Line(AxisStatus axis, int width)
    {
        var values = $"{Text.Of(axis.Position),9} {axis.Unit,-4} {Text.Of(axis.Velocity),8} {axis.Unit}/s {Text.Of(Math.Round(axis.Torque, 1)),6} %";
        return $"{axis.Name.PadRight(width)}  {Text.Of(axis.State),-8} {values}  {(axis.Referenced ? "referenced" : "")}  {Load(axis)}{Text.Remark(axis)}".TrimEnd();
    }

    /// <summary>What its motor bears: root mean square of its torque over the last minute, and its computed heat where the machine file models it.</summary>
    private static string Load(AxisStatus axis) =>
        (axis.HasTorqueRmsPercent ? $"rms {Text.Of(Math.Round(axis.TorqueRmsPercent, 1))} %  " : "") + (axis.HasHeatPercent ? $"heat {Text.Of(Math.Round(axis.HeatPercent, 1))} %  " : "");

    /// <summary>What is to do names the interlock, its state and the inputs that hold it: nothing goes before it.</summary>
    public static string Line(InterlockStatus interlock) => interlock.WhatToDo.Length > 0 ? interlock.WhatToDo : $"{interlock.Name}: closed";

    public static string Line(ZoneStatus zone) =>
        zone.Clear ? $"zone {zone.Name}: clear" : $"zone {zone.Name}: held by {string.Join(" and ", zone.HeldBy)}; {zone.WhatToDo}";

    /// <summary>The alarms in short; null when there are none.</summary>
    public static string? Line(AlarmSummary? alarms)
    {
        if (alarms is null or { Count: 0, OutOfService: 0 })
        {
            return null;
        }

        var told = new List<string>(5);
        Add(alarms.Count > 0, $"{alarms.Count}{(alarms.Unacknowledged > 0 ? $", {alarms.Unacknowledged} not acknowledged" : "")}");
        Add(alarms.Gravest.Length > 0, $"the gravest: {alarms.Gravest} ({alarms.GravestPriority})");
        Add(alarms.Chattering > 0, $"{alarms.Chattering} chattering");
        Add(alarms.Stale > 0, $"{alarms.Stale} stale");
        Add(alarms.OutOfService > 0, $"{alarms.OutOfService} out of service");
        return $"alarms: {string.Join("; ", told)}";

        void Add(bool wanted, string text)
        {
            if (wanted)
            {
                told.Add(text);
            }
        }
    }

    /// <summary>What is wrong with the history; null when nothing is.</summary>
    public static string? Line(HistoryStatus? history)
    {
        if (history is null)
        {
            return null;
        }

        var told = new List<string>(3);
        if (!history.Good)
        {
            told.Add(history.Problem);
        }

        if (history.Lost > 0)
        {
            told.Add($"{Counted.Of(history.Lost, "record")} could not be kept");
        }

        if (history.Sparing)
        {
            told.Add($"so much repeats itself that {Counted.Of(history.Collapsed, "repeat")} {(history.Collapsed == 1 ? "is" : "are")} kept as first, last and count only");
        }

        return told.Count == 0 ? null : $"history: {string.Join("; ", told).Replace(".; ", ". ", StringComparison.Ordinal)}";
    }

    /// <summary>Modules, power, outputs and alive, a line each.</summary>
    public static IEnumerable<string> Outputs(MachineStatus status)
    {
        foreach (var module in status.Modules)
        {
            yield return $"{module.Name}: {(module.Online ? "answers" : "does not answer")}{(module.ErrorPercent > 0 ? $", {Text.Of(module.ErrorPercent)} % of its last exchanges failed" : "")}{(module.WhatToDo.Length > 0 ? $"; {module.WhatToDo}" : "")}";
        }

        if (status.PowerEnable is { } power)
        {
            yield return power.WhatToDo.Length > 0 ? $"power: {Text.Of(power.State)}; {power.WhatToDo}" : $"power: {Text.Of(power.State)}";
        }

        foreach (var output in status.Outputs)
        {
            var level = !output.HasOn ? "not known" : output.On ? "on" : "off";
            yield return $"{output.Name}: {level}{(output.Confirmed ? "" : ", not confirmed")}{(output.HeldBecause.Length > 0 ? $", held because {output.HeldBecause}" : "")}";
        }

        if (status.Alive is { } alive)
        {
            yield return alive.Toggles ? "alive: toggles" : $"alive: stands still; {alive.Problem}";
        }
    }

    public static string Line(PortStatus port) =>
        $"{port.Name}: {(port.Open ? "open" : "closed")}, cycle {Text.Of(port.CycleMs)} ms, {Counted.Of(port.Exchanges, "exchange")}, {Counted.Of(port.Errors, "error")}{Share(port)}, "
        + $"exchange {Text.Of(Math.Round(port.ExchangeP50Ms, 2))} ms median, {Text.Of(Math.Round(port.ExchangeP99Ms, 2))} ms at the 99th percentile{Overruns(port)}{Heartbeat(port)}{(port.Problem.Length > 0 ? $"; {port.Problem}" : "")}";

    private static string Share(PortStatus port) => port.ErrorPercent > 0 || port.LastHour is { Errors: > 0 }
        ? $" ({Text.Of(port.ErrorPercent)} % of the last ones, {port.LastMinute.Errors} in the last minute, {port.LastHour.Errors} in the last hour)"
        : "";

    /// <summary>Only what is worth a look: cycles that were skipped, with the latest ones apart.</summary>
    private static string Overruns(PortStatus port) => port.Overruns is not { Skipped: > 0 } all ? ""
        : $"; {Counted.Of(all.Skipped, "cycle")} skipped (at most {Text.Of(Math.Round(all.WorstLateMs))} ms late), {port.OverrunsLastHour.Skipped} in the last hour, {port.OverrunsLastMinute.Skipped} in the last minute";

    private static string Heartbeat(PortStatus port) => port.HeartbeatAgeMs < SilentThreadMs ? ""
        : $"; its thread has not stepped for {Text.Of(Math.Round(port.HeartbeatAgeMs / 1000, 1))} s";
}
