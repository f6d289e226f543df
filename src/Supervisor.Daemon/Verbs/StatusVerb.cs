using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Verbs.Messages;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>status [--json]</c>.</summary>
internal static class StatusVerb
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    public static Command Build()
    {
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var language = ClientOptions.Language();
        var verb = new Command("status", "Show the machine once.") { language, json, server };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var response = await daemon.Status.GetStatusAsync(new GetStatusRequest { Language = parsed.GetValue(language) ?? "" }, deadline: DateTime.UtcNow + Patience, cancellationToken: ends);
                if (parsed.GetValue(json))
                {
                    JsonOut.Print(StatusShapes.ToJson(response.Status), JsonShapes.Readable.StatusJson);
                }
                else
                {
                    StatusText.Print(response.Status, Console.Out);
                }

                return ExitCode.Done;
            },
            cancellation));
        return verb;
    }
}

/// <summary>The status in the shape that programs read.</summary>
internal static class StatusShapes
{
    public static StatusJson ToJson(MachineStatus status) => new(
        status.Machine,
        status.Mode,
        status.MotionPermitted,
        status.HasAuthorityHolder ? status.AuthorityHolder : null,
        [.. status.Axes.Select(Axis)],
        [.. status.Interlocks.Select(each => new InterlockJson(each.Name, each.Open, each.NeedsReset, each.OpenInputs, each.WhatToDo))],
        [.. status.Ports.Select(each => new PortJson(
            each.Name, each.Open ? "open" : "closed", each.CycleMs, each.Exchanges, each.Errors, new PercentilesJson(each.ExchangeP50Ms, each.ExchangeP99Ms),
            Math.Round(each.HeartbeatAgeMs, 1),
            new CyclesJson(each.Overruns.Skipped, Math.Round(each.Overruns.WorstLateMs, 2), Overruns(each.OverrunsLastMinute), Overruns(each.OverrunsLastHour)))
        {
            ErrorPercent = each.ErrorPercent,
            LastMinute = Counts(each.LastMinute),
            LastHour = Counts(each.LastHour),
            Problem = each.Problem,
        })],
        [.. status.Zones.Select(each => new ZoneJson(each.Name, each.Clear, each.HeldBy, each.WhatToDo))],
        status.History is { } history ? new HistoryJson(history.Good, history.Problem, history.Lost, history.Collapsed, history.Sparing, history.WrittenBytes) : null)
    {
        Modules = [.. status.Modules.Select(each => new ModuleJson(each.Name, each.Online, each.OutputsReady, each.WhatToDo) { ErrorPercent = each.ErrorPercent })],
        Outputs = [.. status.Outputs.Select(each => new OutputJson(each.Name, each.Place, each.HasOn ? each.On : null, each.Confirmed, each.HeldBecause))],
        PowerEnable = status.PowerEnable is { } power
            ? new PowerJson(Text.Of(power.State), power.Fault.Length > 0 ? power.Fault : null, power.Axes, power.WhatToDo)
            : null,
        Lights = [.. status.Lights.Select(Signals.SignalText.ToJson)],
        Horn = Signals.SignalText.ToJson(status.Horn),
        Alarms = status.Alarms is { } alarms
            ? new Alarms.AlarmSummaryJson(
                alarms.Count, alarms.Unacknowledged, alarms.OutOfService, alarms.Chattering, alarms.Stale,
                alarms.Gravest.Length > 0 ? alarms.Gravest : null, alarms.GravestPriority.Length > 0 ? alarms.GravestPriority : null)
            : null,
        Alive = status.Alive is { } alive ? new AliveJson(alive.Place, alive.Toggles, alive.Problem) : null,
        MessageChannels = [.. status.MessageChannels.Select(MessageChannelJson.From)],
    };

    private static OverrunsJson Overruns(CycleOverruns overruns) => new(overruns.Skipped, Math.Round(overruns.WorstLateMs, 2));

    private static AxisJson Axis(AxisStatus axis) => new(
        axis.Name, Text.Of(axis.State), Text.Of(axis.Detail), axis.Referenced,
        JsonOut.Number(axis.Position), JsonOut.Number(axis.Velocity), JsonOut.Number(axis.Torque), axis.Unit,
        axis.InhibitedBy, axis.Fault.Length > 0 ? axis.Fault : null, axis.Online, JsonOut.Number(axis.Target), (int)axis.DriveCode,
        axis.StopLocked,
        axis.HasHeatPercent ? axis.HeatPercent : null, axis.HasTorqueRmsPercent ? axis.TorqueRmsPercent : null,
        axis.BrakeProof is { } proof
            ? new BrakeProofJson(
                proof.State.ToString().ToLowerInvariant(), proof.HasPassedHoursAgo ? proof.PassedHoursAgo : null, proof.HasDueInHours ? proof.DueInHours : null,
                proof.HasMovement ? proof.Movement : null)
            : null,
        axis.HasSpeedPercent ? axis.SpeedPercent : 100, axis.FaultConsequenceOf.Length > 0 ? axis.FaultConsequenceOf : null,
        axis.TorqueLoad is { } load ? new TorqueLoadJson(load.SquareSeconds, load.Seconds) : null,
        Drives.TimeoutText.ToJson(axis.TimeoutProof)) { ErrorPercent = axis.ErrorPercent };

    private static CountsJson Counts(ExchangeCounts? counts) => new(counts?.Exchanges ?? 0, counts?.Errors ?? 0);
}
