using Supervisor.Bus;
using Supervisor.Daemon.Hosting;
using Supervisor.History;
using Supervisor.History.Entries;
using Supervisor.Machine.Api;
using Supervisor.Records;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Daemon.Services;

/// <summary>Keeps who wrote a drive's parameters and what became of it, also when whoever asked no longer listens.</summary>
public sealed partial class LoadDiary(MachineControl control, HistoryStore history, UnfinishedLoads loads, StreamPace pace, ILogger<LoadDiary> logger)
{
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(20);

    /// <summary>Follows a job that was posted to its end.</summary>
    public async Task FollowAsync(int axis, ParameterJob job, string holder)
    {
        ArgumentNullException.ThrowIfNull(job);
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
        var outcome = ended.Complete ? Outcome.Done : job.State is ParameterJobState.Refused or ParameterJobState.Withdrawn ? Outcome.Refused : Outcome.Failed;
        var fault = outcome == Outcome.Failed ? FaultCode.ParametersIncomplete : FaultCode.None;
        history.Append(new CommandRecord(
            MonotonicClock.System.Now, 0, $"load {Counted.Of(job.Entries.Count, "parameter")} into {definition.Name}", holder, definition.Name, outcome, job.Refusal, fault, message));
        LogWritten(holder, definition.Name, message);
    }

    [LoggerMessage(2030, LogLevel.Warning, "{Holder} loaded parameters into the drive of {Axis}: {What}", EventName = "ParametersLoaded")]
    private partial void LogWritten(string holder, string axis, string what);
}
