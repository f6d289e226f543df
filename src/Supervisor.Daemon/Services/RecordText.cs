using System.Globalization;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;

namespace Supervisor.Daemon.Services;

/// <summary>What a record tells, for a person: one sentence without its time and without what it concerns.</summary>
internal static class RecordText
{
    /// <param name="stored">The record.</param>
    /// <param name="unit">Unit of its axis; empty when not known.</param>
    public static string Of(StoredRecord stored, string unit) => stored.Record switch
    {
        StartRecord start => $"the supervisor started, version {start.Version}, machine file {Short(start.FileHash)}{(start.PreviousFileHash.Length > 0 && start.PreviousFileHash != start.FileHash ? $" (at the start before {Short(start.PreviousFileHash)})" : "")}{PreviousEndOf(start.PreviousEnd)}",
        EndRecord end => $"the supervisor ended: {end.Reason}",
        FaultRecord fault => Fault(fault, unit),
        InterlockRecord interlock => Interlock(interlock),
        RecoveryRecord step => $"recovery from {Name(step.Code)}{(step.Attempt > 0 ? $", attempt {step.Attempt} of {step.Attempts}" : "")}: {(step.Detail.Length > 0 ? step.Detail : Word(step.Step))}",
        LinkRecord { Restored: false } link => $"its {(link.Axis is null ? "device" : "drive")} was lost{Behind(link.Detail)}",
        LinkRecord link => $"its {(link.Axis is null ? "device" : "drive")} was found{Behind(link.Detail)}",
        CommandRecord command => Command(command),
        NoticeRecord notice => notice.Message,
        StopRecord stop => Stop(stop),
        TimeoutProofRecord proof => $"its communication time-out was provoked: {Verdict(proof.Verdict)}{By(proof.Holder)}",
        ReturnRecord { Step: ReturnStep.Ready } back => $"ready again after {Name(back.Code)}",
        ReturnRecord back => $"{Name(back.Code)} is cleared",
        ParameterRecord parameter => Parameter(parameter),
        RecordingRecord recording => $"recorded from {Seconds(recording.At - recording.From)} before to {Seconds(recording.To - recording.At)} after: {recording.What}",
        AlarmRecord alarm => AlarmText.Of(alarm),
        _ => "a record that this version does not know; a newer one wrote it",
    }
    + (stored.Count > 1 ? $"; {stored.Count} times until {Seconds(stored.Last - stored.Record.At)} later" : "");

    /// <summary>The name of a fault, lower case.</summary>
    public static string Name(FaultCode code) => FaultCatalogue.Entry(code).Name;

    private static string Fault(FaultRecord fault, string unit)
    {
        var parts = new List<string>();
        Add(fault.Note.Length > 0, fault.Note);
        Add(fault.DriveCode != 0, $"drive code {fault.DriveCode:X4}h");
        Add(fault.Axis is not null, $"was {fault.State}");
        Add(double.IsFinite(fault.Position) && fault.Axis is not null, $"at {Number(fault.Position)} {unit}".TrimEnd());
        Add(fault.CommandId != 0, $"command {fault.CommandId} in hand");
        return $"{(fault.Class == FaultClass.Warning ? "warning: " : "")}{Name(fault.Code)}{(parts.Count > 0 ? $" ({string.Join(", ", parts)})" : "")}"
            + (fault.ConsequenceOf.Length > 0 ? $": the hardware of {fault.ConsequenceOf} took its power" : "");

        void Add(bool wanted, string text)
        {
            if (wanted)
            {
                parts.Add(text);
            }
        }
    }

    private static string Interlock(InterlockRecord interlock)
    {
        var inputs = string.Join(", ", interlock.Inputs);
        return interlock.Change switch
        {
            InterlockChange.Opened => $"opened ({inputs})",
            InterlockChange.Tripped => $"opened ({inputs}): its axes stop",
            InterlockChange.Closed => $"closed ({inputs}), waits for its reset",
            InterlockChange.Reset => $"reset by {inputs}",
            InterlockChange.Discrepancy => $"its channels differed ({inputs})",
            _ => "changed",
        };
    }

    private static string Command(CommandRecord command)
    {
        var end = command.Outcome switch
        {
            Outcome.Done => command.Message is "" or "done" ? "done" : $"done: {command.Message}",
            Outcome.Refused => $"refused: {command.Message}",
            Outcome.Replaced => $"replaced: {command.Message}",
            _ => $"failed: {command.Message}",
        };
        return $"{command.Command}{By(command.Holder)}{(command.CommandId != 0 ? $" (command {command.CommandId})" : "")} {end}";
    }

    private static string Stop(StopRecord stop)
    {
        var rest = stop.RestAfter is { } after ? $"at rest after {Milliseconds(after)}" : "rest not seen";
        var off = stop.OffAfter is { } torque ? $", torque off after {Milliseconds(torque)}" : stop.Category == 2 ? "" : ", torque off not seen";
        return $"stopped in category {stop.Category} ({stop.Cause}) from {Number(stop.Velocity)} {stop.Unit}/s: {rest}, {Number(stop.Distance)} {stop.Unit}{off}";
    }

    private static string Parameter(ParameterRecord parameter)
    {
        var unit = parameter.Unit.Length > 0 ? $" {parameter.Unit}" : "";
        var before = parameter.Before is { } had ? $" from {Number(had)}" : "";
        var end = parameter.Outcome switch
        {
            ParameterChange.Written => "",
            ParameterChange.NotTaken => $", but the drive has {(parameter.After is { } has ? Number(has) : "another value")}{unit}",
            ParameterChange.Rejected => ", but the drive refused it",
            _ => ", but the drive was lost: it may have arrived or not",
        };
        return $"parameter {parameter.Parameter} set{before} to {Number(parameter.Wanted)}{unit}{By(parameter.Holder)}{end}";
    }

    private static string PreviousEndOf(PreviousEnd end) => end switch
    {
        PreviousEnd.NotInOrder => "; the run before did not end in order: power was lost, or it was killed or broke",
        PreviousEnd.InOrder => "",
        _ => "; the first start with this history",
    };

    private static string Verdict(TimeoutVerdict verdict) => Words(verdict.ToString());

    private static string Word(RecoveryStep step) => Words(step.ToString());

    /// <summary>A name of the program as words.</summary>
    private static string Words(string name) =>
        string.Concat(name.Select((letter, at) => char.IsAsciiLetterUpper(letter) && at > 0 ? $" {char.ToLowerInvariant(letter)}" : $"{char.ToLowerInvariant(letter)}"));

    private static string Short(string hash) => hash.Length > 12 ? hash[..12] : hash;

    private static string Behind(string detail) => detail.Length > 0 ? $": {detail}" : "";

    private static string By(string holder) => holder.Length > 0 ? $" by {holder}" : "";

    private static string Number(double value) => value.ToString("0.###", CultureInfo.InvariantCulture);

    private static string Milliseconds(TimeSpan time) => string.Create(CultureInfo.InvariantCulture, $"{time.TotalMilliseconds:0.#} ms");

    private static string Seconds(TimeSpan time) => string.Create(CultureInfo.InvariantCulture, $"{time.TotalSeconds:0.#} s");
}
