using Supervisor.Daemon.Memories;
using System.Globalization;
using Supervisor.Configuration.Machines;
using Supervisor.History;
using Supervisor.History.Entries;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Machine;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Machine.Timeouts;
using Supervisor.Machine.Watching;
using Supervisor.Records;
using Supervisor.Records.Alarms;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;
using Supervisor.Runtime.Stops;
using InterlockChange = Supervisor.Machine.InterlockChange;
using StoredChange = Supervisor.History.Entries.InterlockChange;

namespace Supervisor.Daemon.Hosting;

/// <summary>Writes what the coordinator tells into the history, then into the log. Called on the coordinator's thread only; never blocks.</summary>
internal sealed partial class Journal(MachineDefinition machine, HistoryStore history, RecordingEvents recordings, ILogger<Journal> logger) : IJournal
{
    private readonly StopCauses _causes = new(machine);
    private readonly AlarmNames _alarmNames = new(machine);

    private readonly string[] _outputs =
    [
        .. machine.Outputs.Select(output => $"output {output.Name}"),
        .. machine.PowerEnable is { } power ? [$"power-enable {power.Output.Text}"] : Array.Empty<string>(),
        .. machine.Alive is { } alive ? [$"alive {alive.Output.Text}"] : Array.Empty<string>(),
        .. machine.Signals.Lights.Select(light => $"light {light.Name}"),
        .. machine.Signals.Horn is { } horn ? [$"horn {horn.Output.Text}"] : Array.Empty<string>(),
    ];

    /// <summary>The coordinator tells a discrepancy, then the fault it is; the fault itself carries no interlock.</summary>
    private string? _discrepancy;

    public void Fault(in FaultEvent fault)
    {
        var axis = fault.Axis >= 0 ? machine.Axes[fault.Axis].Name : null;
        var port = fault.Port >= 0 ? machine.Ports[fault.Port].Name : null;
        var interlock = fault.Code == FaultCode.ChannelDiscrepancy ? _discrepancy : null;
        var identity = IdentityTexts.Of(machine, fault);
        var note = fault.Zone >= 0 ? $"zone {machine.Zones[fault.Zone].Name}"
            : fault.Axis >= 0 ? identity.Length > 0 ? identity : ParameterTexts.Of(machine.Axes[fault.Axis], fault.Parameter)
            : fault.Module >= 0 ? $"module {machine.Modules[fault.Module].Name}{(identity.Length > 0 ? $": {identity}" : "")}"
            : fault.Output >= 0 ? _outputs[fault.Output]
            : "";
        var stop = fault.ConsequenceOf >= 0 ? machine.Interlocks[fault.ConsequenceOf].Name : "";
        history.Append(FaultRecord.From(fault, axis, port, interlock, note, stop));
        var entry = FaultCatalogue.Entry(fault.Code);
        if (entry.Class != FaultClass.Warning)
        {
            recordings.Tell(new RecordingEvent(fault.At, axis, entry.Name, IsMinor: false));
        }

        if (stop.Length > 0)
        {
            LogConsequence(axis ?? "", entry.Name, fault.DriveCode, stop);
            return;
        }

        LogFault(axis ?? interlock ?? port ?? "", note.Length > 0 ? $"{entry.Name}: {note}" : entry.Name, fault.DriveCode, entry.Remedy);
    }

    public void FaultsLost(int port, long count, TimeSpan at)
    {
        var name = machine.Ports[port].Name;
        history.Append(new NoticeRecord(at, NoticeKind.FaultsNotTold, count, $"{Counted.Of(count, "fault")} of axes on {name} {(count == 1 ? "was" : "were")} not recorded: the supervisor was held up. What an axis has latched is recorded."));
        LogFaultsLost(name, count);
    }

    public void Interlock(int interlock, InterlockChange change, string inputs, TimeSpan at)
    {
        var name = machine.Interlocks[interlock].Name;
        switch (change)
        {
            case InterlockChange.Opened:
                Keep(StoredChange.Tripped);
                LogTripped(name, inputs);
                break;
            case InterlockChange.Closed:
                Keep(StoredChange.Closed);
                LogClosed(name, inputs);
                break;
            case InterlockChange.Reset:
                Keep(StoredChange.Reset);
                LogReset(name, inputs);
                break;
            default:
                // Kept as the fault that follows.
                _discrepancy = name;
                break;
        }

        void Keep(StoredChange stored) => history.Append(new InterlockRecord(at, name, stored, [inputs]));
    }

    public void Recovery(in RecoveryNote note)
    {
        var name = machine.Axes[note.Axis].Name;
        history.Append(new RecoveryRecord(note.At, name, note.After, StepOf(note.Change), note.Attempt, note.Attempts, note.What) { Action = ActionOf(note.Action) });
        LogRecovery(name, note.What);
    }

    public void Command(MachineCommand command, string holder, CommandAnswer answer, TimeSpan at)
    {
        var text = CommandText.Of(command, machine);
        var axis = answer.Axis >= 0 ? machine.Axes[answer.Axis].Name : null;
        history.Append(new CommandRecord(at, answer.Id, text, holder, axis, answer.Outcome, answer.Refusal, answer.Fault, answer.Message)
        {
            Axes = CommandText.AxesOf(command, machine),
        });
        if (answer.Outcome == Outcome.Done)
        {
            LogDone(answer.Id, text, holder);
        }
        else
        {
            LogNotDone(answer.Id, text, holder, answer.Outcome, answer.Message);
        }
    }

    public void Stop(in MeasuredStop stop)
    {
        var axis = machine.Axes[stop.Axis];
        var cause = CauseText(stop);
        history.Append(new StopRecord(
            stop.TrippedAt, axis.Name, axis.Unit, cause, stop.Category, stop.Velocity, stop.Distance, Seen(stop.RestAfter), Seen(stop.OffAfter)));
        recordings.Tell(new RecordingEvent(stop.TrippedAt, axis.Name, $"stop: {cause}", IsMinor: stop is { Causes: 0, Fault: FaultCode.None, Category: > 0 }));
        LogStop(axis.Name, stop.Category, cause, Math.Round(stop.Velocity, 1), Math.Round(stop.Distance, 2), axis.Unit, RestText(stop));
    }

    /// <summary>Told of every proof of a communication time-out.</summary>
    public TimeoutProofs? Proofs { get; init; }

    public void Timeout(in MeasuredTimeout measured, string holder)
    {
        history.Append(TimeoutRecords.Of(machine, measured, holder));
        Proofs?.Note(measured, holder);
        LogTimeout(holder, TimeoutTexts.Of(machine.Axes[measured.Axis], measured));
    }

    private static string RestText(in MeasuredStop stop) =>
        Seen(stop.RestAfter) is { } rest ? string.Create(CultureInfo.InvariantCulture, $"at rest after {rest.TotalMilliseconds:0.#} ms") : "not seen at rest";

    private static TimeSpan? Seen(TimeSpan time) => time == TimeSpan.MaxValue ? null : time;

    private string CauseText(in MeasuredStop stop)
    {
        var names = new List<string>();
        for (var left = stop.Causes; left != 0; left &= left - 1)
        {
            var cause = StopLatch.First(left);
            names.Add(_causes.InterlockOf(cause) is var interlock and >= 0 ? machine.Interlocks[interlock].Name
                : _causes.GroupOf(cause) is var group and >= 0 ? $"group {machine.Groups[group].Name}"
                : "shut-down");
        }

        return names.Count > 0 ? string.Join(", ", names)
            : stop.Fault != FaultCode.None ? FaultCatalogue.Entry(stop.Fault).Name
            : stop.Category == 0 ? "a stop of its group failed"
            : "asked for";
    }

    public void Port(int port, bool open, TimeSpan at) => history.Append(new LinkRecord(at, machine.Ports[port].Name, null, open, ""));

    public void Returned(int axis, FaultCode after, AxisReturn step, TimeSpan at)
    {
        var name = machine.Axes[axis].Name;
        var isReady = step == AxisReturn.Ready;
        history.Append(new ReturnRecord(at, name, after, isReady ? ReturnStep.Ready : ReturnStep.Cleared));
        if (isReady)
        {
            LogReady(name, FaultCatalogue.Entry(after).Name);
        }
        else
        {
            LogCleared(name, FaultCatalogue.Entry(after).Name);
        }
    }

    public void Alarm(in AlarmNote note)
    {
        var source = _alarmNames.Of(note.Key.Source);
        history.Append(new AlarmRecord(note.At, note.Key.Number, note.Key.Source.Kind, source, note.Change)
        {
            By = note.By,
            Text = note.Key.IsOwn && note.Change == AlarmChange.Raised ? OwnText(note) : note.Text,
            For = note.Until - note.At,
            Priority = note.Key.IsOwn ? machine.OwnAlarm(note.Key.Number)?.Priority ?? FaultPriority.None : FaultPriority.None,
        });
        LogAlarm(_alarmNames.Describe(note.Key), note.Change, note.By, note.Text);
    }

    /// <summary>Kept with the record, as a later machine file may say something else.</summary>
    private string OwnText(in AlarmNote note) =>
        machine.OwnAlarm(note.Key.Number) is { Texts: [var text, ..] } ? $"{text.Name}. Cause: {text.Cause} What to do: {text.Remedy}" : note.Text;

    private static RecoveryStep StepOf(RecoveryChange change) => change switch
    {
        RecoveryChange.Begun => RecoveryStep.Begun,
        RecoveryChange.AttemptFailed => RecoveryStep.Failed,
        RecoveryChange.Succeeded => RecoveryStep.Succeeded,
        RecoveryChange.Cancelled => RecoveryStep.Cancelled,
        RecoveryChange.NotBegun => RecoveryStep.NotBegun,
        _ => RecoveryStep.GivenUp,
    };

    /// <summary>The machine file's word.</summary>
    private static string ActionOf(RecoveryAction action) => action switch
    {
        RecoveryAction.ResetAndEnable => "resetAndEnable",
        RecoveryAction.ResetAndHome => "resetAndHome",
        _ => "reset",
    };

    [LoggerMessage(3001, LogLevel.Warning, "{Where}: {Fault} (drive code {DriveCode}). {Remedy}", EventName = "Fault")]
    private partial void LogFault(string where, string fault, ushort driveCode, string remedy);

    [LoggerMessage(3012, LogLevel.Information, "{Axis}: {Fault} (drive code {DriveCode}), as a consequence of {Interlock}, whose hardware took its power", EventName = "FaultByHardwareStop")]
    private partial void LogConsequence(string axis, string fault, ushort driveCode, string interlock);

    [LoggerMessage(3008, LogLevel.Error, "{Count} faults of axes on {Port} were not recorded: the supervisor was held up", EventName = "FaultsLost")]
    private partial void LogFaultsLost(string port, long count);

    [LoggerMessage(3009, LogLevel.Information, "{Axis} stopped in category {Category} ({Cause}): from {Velocity} {Unit}/s in {Distance} {Unit}, {Rest}", EventName = "Stopped")]
    private partial void LogStop(string axis, int category, string cause, double velocity, double distance, string unit, string rest);

    [LoggerMessage(3013, LogLevel.Information, "Communication time-out proven for {Holder}: {What}", EventName = "TimeoutProven")]
    private partial void LogTimeout(string holder, string what);

    [LoggerMessage(3002, LogLevel.Warning, "Interlock {Interlock} opened ({Inputs}): its axes stop", EventName = "InterlockTripped")]
    private partial void LogTripped(string interlock, string inputs);

    [LoggerMessage(3003, LogLevel.Information, "Interlock {Interlock} closed ({Inputs}): it waits for its reset", EventName = "InterlockClosed")]
    private partial void LogClosed(string interlock, string inputs);

    [LoggerMessage(3004, LogLevel.Information, "Interlock {Interlock} reset by {By}", EventName = "InterlockReset")]
    private partial void LogReset(string interlock, string by);

    [LoggerMessage(3005, LogLevel.Warning, "Recovery of {Axis} {What}", EventName = "Recovery")]
    private partial void LogRecovery(string axis, string what);

    [LoggerMessage(3013, LogLevel.Information, "{Axis}: {Fault} is cleared", EventName = "FaultCleared")]
    private partial void LogCleared(string axis, string fault);

    [LoggerMessage(3014, LogLevel.Information, "{Axis} is ready again after {Fault}", EventName = "ReadyAgain")]
    private partial void LogReady(string axis, string fault);

    [LoggerMessage(3015, LogLevel.Information, "Alarm {Alarm}: {Change} by {By}: {Text}", EventName = "Alarm")]
    private partial void LogAlarm(string alarm, AlarmChange change, string by, string text);

    [LoggerMessage(3006, LogLevel.Information, "Command {Id} of {Holder} done: {Command}", EventName = "CommandDone")]
    private partial void LogDone(ulong id, string command, string holder);

    [LoggerMessage(3007, LogLevel.Information, "Command {Id} of {Holder} {Outcome}: {Command}: {Message}", EventName = "CommandNotDone")]
    private partial void LogNotDone(ulong id, string command, string holder, Outcome outcome, string message);
}
