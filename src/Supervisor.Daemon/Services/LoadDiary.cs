using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;
using Supervisor.Daemon.Memories;
using Supervisor.History;
using Supervisor.History.Entries;
using Supervisor.Machine.Api;
using Supervisor.Machine.Watching;
using Supervisor.Records;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Daemon.Services;

/// <summary>Keeps who wrote a drive's parameters and what became of it, also when whoever asked no longer listens.</summary>
public sealed partial class LoadDiary(MachineControl control, HistoryStore history, UnfinishedLoads loads, StreamPace pace, ILogger<LoadDiary> logger)
{
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(20);

    private readonly Lock _gate = new();
    private readonly List<Task> _following = [];

    /// <summary>Follows a job that was posted to its end, or to the end of the daemon.</summary>
    public void Follow(int axis, ParameterJob job, string holder)
    {
        ArgumentNullException.ThrowIfNull(job);
        lock (_gate)
        {
            _following.RemoveAll(task => task.IsCompleted);
            _following.Add(FollowAsync(axis, job, holder));
        }
    }

    /// <summary>Waits until all that was followed is recorded. Streams were told to end before.</summary>
    public Task EndedAsync()
    {
        lock (_gate)
        {
            return Task.WhenAll(_following);
        }
    }

    private async Task FollowAsync(int axis, ParameterJob job, string holder)
    {
        while (!job.HasEnded && !pace.Ending.IsCancellationRequested)
        {
            await Task.Delay(Look, CancellationToken.None);
        }

        loads.Settle(axis);
        var definition = control.Machine.Axes[axis];
        var ended = DriveMapping.End(definition, job);
        var message = job.State switch
        {
            ParameterJobState.Refused => control.RefusalOf(axis, job.Refusal).Message,
            ParameterJobState.Withdrawn => $"{definition.Name} did not come to it; nothing was written",
            _ => ended.Message,
        };
        for (var entry = 0; entry < job.Entries.Count; entry++)
        {
            Keep(definition, job, entry, holder);
        }

        var outcome = ended.Complete ? Outcome.Done : job.State is ParameterJobState.Refused or ParameterJobState.Withdrawn ? Outcome.Refused : Outcome.Failed;
        var fault = outcome == Outcome.Failed ? FaultCode.ParametersIncomplete : FaultCode.None;
        history.Append(new CommandRecord(
            MonotonicClock.System.Now, 0, $"load {Counted.Of(job.Entries.Count, "parameter")} into {definition.Name}", holder, definition.Name, outcome, job.Refusal, fault, message));
        LogWritten(holder, definition.Name, message);
    }

    private void Keep(AxisDefinition axis, ParameterJob job, int entry, string holder)
    {
        var result = job.Result(entry);
        var change = result.Outcome switch
        {
            ParameterOutcome.Written or ParameterOutcome.WrittenUnread => ParameterChange.Written,
            ParameterOutcome.NotTaken => ParameterChange.NotTaken,
            ParameterOutcome.Rejected => ParameterChange.Rejected,
            ParameterOutcome.Unknown => ParameterChange.Unknown,
            _ => ParameterChange.None,
        };
        if (change == ParameterChange.None)
        {
            return;
        }

        var field = axis.Drive.Parameters[job.Entries[entry].Index];
        var written = DriveMapping.Written(field, result);
        history.Append(new ParameterRecord(
            MonotonicClock.System.Now, axis.Name, field.Name, field.Unit ?? "", ParameterTexts.Tidy(field.ValueOf(job.Entries[entry].Raw)), change)
        {
            Before = written.HasBefore ? written.Before : null,
            After = written.HasAfter ? written.After : null,
            Holder = holder,
        });
    }

    [LoggerMessage(2030, LogLevel.Warning, "{Holder} loaded parameters into the drive of {Axis}: {What}", EventName = "ParametersLoaded")]
    private partial void LogWritten(string holder, string axis, string what);
}
