using Supervisor.History.Entries;
using Supervisor.Machine;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;
using InterlockChange = Supervisor.Machine.InterlockChange;
using StoredChange = Supervisor.History.Entries.InterlockChange;

namespace Supervisor.Scenarios.Stories;

/// <summary>Hears what the coordinator tells and hands it to the history, as the daemon's journal does. The checkers hear it first.</summary>
public sealed class StoryJournal(StoryWorld world) : IJournal
{
    public void Fault(in FaultEvent fault)
    {
        world.Tally.Add($"fault {fault.Code}");
        world.Diary.Note(world.Queue.Now, "journal:", fault);
        foreach (var checker in world.Checkers)
        {
            checker.OnFault(fault);
        }

        world.History!.Put(FaultRecord.From(
            fault, fault.Axis >= 0 ? world.Machine.Axes[fault.Axis].Name : null, fault.Port >= 0 ? world.Machine.Ports[fault.Port].Name : null));
    }

    public void FaultsLost(int port, long count, TimeSpan at) =>
        world.History!.Put(new NoticeRecord(at, NoticeKind.FaultsNotTold, count, world.Machine.Ports[port].Name));

    public void Interlock(int interlock, InterlockChange change, string inputs, TimeSpan at)
    {
        var name = world.Machine.Interlocks[interlock].Name;
        world.Diary.Note(world.Queue.Now, $"interlock {name} {change} by", inputs);
        foreach (var checker in world.Checkers)
        {
            checker.OnInterlock(interlock, change);
        }

        var stored = change switch
        {
            InterlockChange.Opened => StoredChange.Tripped,
            InterlockChange.Closed => StoredChange.Closed,
            InterlockChange.Reset => StoredChange.Reset,
            _ => StoredChange.Discrepancy,
        };
        world.History!.Put(new InterlockRecord(at, name, stored, [inputs]));
    }

    public void Stop(in MeasuredStop stop)
    {
        world.Tally.Add(stop.IsComplete ? "stop measured" : "stop measured in part");
        var axis = world.Machine.Axes[stop.Axis];
        world.History!.Put(new StopRecord(stop.TrippedAt, axis.Name, axis.Unit, "", stop.Category, stop.Velocity, stop.Distance, stop.RestAfter, stop.OffAfter));
    }

    public void Timeout(in MeasuredTimeout measured, string holder) => world.Tally.Add($"time-out proven {measured.Verdict}");

    public void Recovery(in RecoveryNote note)
    {
        world.Tally.Add($"recovery {note.Change}");
        world.Diary.Note(world.Queue.Now, "journal:", note);
        foreach (var checker in world.Checkers)
        {
            checker.OnRecovery(note);
        }

        world.History!.Put(new RecoveryRecord(note.At, world.Machine.Axes[note.Axis].Name, note.After, RecoveryStep.Begun, note.Attempt, note.Attempts, note.What));
    }

    public void Command(MachineCommand command, string holder, CommandAnswer answer, TimeSpan at) => world.History!.Put(new CommandRecord(
        at, answer.Id, command.GetType().Name, holder, null, answer.Outcome, answer.Refusal, answer.Fault, answer.Message));

    public void Returned(int axis, FaultCode after, AxisReturn step, TimeSpan at)
    {
        world.Tally.Add($"axis {(step == AxisReturn.Ready ? "ready again" : "cleared")}");
        world.History!.Put(new ReturnRecord(at, world.Machine.Axes[axis].Name, after, step == AxisReturn.Ready ? ReturnStep.Ready : ReturnStep.Cleared));
    }

    public void Alarm(in AlarmNote note)
    {
        world.Tally.Add($"alarm {note.Change}");
        world.History!.Put(new AlarmRecord(note.At, note.Key.Number, note.Key.Source.Kind, "", note.Change) { By = note.By, Text = note.Text });
    }

    public void Port(int port, bool open, TimeSpan at) => world.History!.Put(new LinkRecord(at, world.Machine.Ports[port].Name, null, open, ""));
}
