using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;
using Supervisor.Daemon.Memories;
using Supervisor.History.Reading;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Daemon.Services;

/// <summary>Serves the parameters of the axes' drives. A job that was taken runs to its end: half a set is worse than a caller who no longer listens.</summary>
public sealed class DriveServer(MachineControl control, AuthorityDesk desk, StreamPace pace, LoadDiary diary, UnfinishedLoads loads, TimeoutProofs proofs, HistoryReader reader)
    : DriveService.DriveServiceBase
{
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(20);

    // The axis looks at what is posted with every cycle of an open port.
    private const int LooksForTaking = 100;

    /// <inheritdoc/>
    public override Task<GetDriveResponse> GetDrive(GetDriveRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var axis = CommandReading.Axis(control.Machine, request.Axis, "axis");
        var response = DriveMapping.Describe(control, axis);
        response.TimeoutProof = TimeoutMapping.ToMessage(control.Machine.Axes[axis], proofs.Of(axis));
        return Task.FromResult(response);
    }

    /// <inheritdoc/>
    public override async Task<ReadParametersResponse> ReadParameters(ReadParametersRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        ArgumentNullException.ThrowIfNull(context);
        var axis = CommandReading.Axis(control.Machine, request.Axis, "axis");
        var drive = control.Machine.Axes[axis].Drive;
        ParameterEntry[] entries = [.. Readable(drive).Select(index => new ParameterEntry((short)index, 0))];
        var job = new ParameterJob(entries, writes: false);
        await PostAsync(axis, job, null, context.CancellationToken);
        while (!job.HasEnded)
        {
            await Task.Delay(Look, pace.Ending);
        }

        ThrowIfRefused(axis, job);
        if (job.State != ParameterJobState.Done)
        {
            throw ApiErrors.From(control.RefusalOf(axis, Refusal.AxisOffline), control.Machine);
        }

        if (job.LeavesSetWhole)
        {
            loads.Proven(axis);
        }

        var response = new ReadParametersResponse { Definition = drive.Name, SetIncomplete = !job.LeavesSetWhole };
        response.Readings.AddRange(entries.Select((entry, i) => DriveMapping.Reading(drive.Parameters[entry.Index], job.Result(i))));
        return response;
    }

    /// <inheritdoc/>
    public override async Task WriteParameters(
        WriteParametersRequest request, IServerStreamWriter<WriteParametersResponse> responseStream, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        ArgumentNullException.ThrowIfNull(responseStream);
        ArgumentNullException.ThrowIfNull(context);
        var axis = CommandReading.Axis(control.Machine, request.Axis, "axis");
        var grant = desk.Find(request.AuthorityToken);
        var job = ParameterRequest.Read(control.Machine.Axes[axis], request);
        await PostAsync(axis, job, grant, context.CancellationToken);
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.CancellationToken, pace.Ending);
        var told = 0;
        var quiet = 0;
        while (!job.HasEnded)
        {
            told = await TellAsync(axis, job, told, responseStream);
            if (++quiet * Look >= StreamPace.Heartbeat)
            {
                quiet = 0;
                await responseStream.WriteAsync(new WriteParametersResponse { Heartbeat = new Heartbeat() }, ends.Token);
            }

            await Task.Delay(Look, ends.Token);
        }

        ThrowIfRefused(axis, job);
        await TellAsync(axis, job, told, responseStream);
        await responseStream.WriteAsync(new WriteParametersResponse { Ended = DriveMapping.End(control.Machine.Axes[axis], job) }, ends.Token);
    }

    /// <inheritdoc/>
    public override async Task ProveTimeout(ProveTimeoutRequest request, IServerStreamWriter<ProveTimeoutResponse> responseStream, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        ArgumentNullException.ThrowIfNull(responseStream);
        ArgumentNullException.ThrowIfNull(context);
        var axis = CommandReading.Axis(control.Machine, request.Axis, "axis");
        var grant = desk.Find(request.AuthorityToken);
        var ticket = control.Submit(new ProveTimeoutCommand(axis, request.By, request.HasVelocity ? request.Velocity : null, request.Confirm), grant);
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.CancellationToken, pace.Ending);
        var answer = await CommandStream.FollowAsync(
            control, ticket, told => responseStream.WriteAsync(new ProveTimeoutResponse { Event = told }, CancellationToken.None), ends.Token);
        if (answer.Outcome == Records.Commands.Outcome.Done)
        {
            answer = await TimeoutProver.ClearAsync(control, axis, grant, answer, ends.Token);
        }

        var response = new ProveTimeoutResponse { Event = new CommandEvent { Ended = CommandStream.Ended(control, answer) } };
        if (proofs.Of(axis, ticket.Id) is { } proof)
        {
            response.Proof = TimeoutMapping.ToMessage(TimeoutRecords.Of(control.Machine, proof.Measured, proof.Holder));
        }

        await responseStream.WriteAsync(response, CancellationToken.None);
    }

    /// <inheritdoc/>
    public override Task<ListTimeoutProofsResponse> ListTimeoutProofs(ListTimeoutProofsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = $"ListTimeoutProofs\n{request.Axis}";
        var page = reader.Query(new HistoryFilter
        {
            Kinds = [History.Entries.RecordKind.TimeoutProof],
            Axis = request.Axis.Length > 0 ? request.Axis : null,
            BeforeSequence = Paging.Before(request.PageToken, arguments),
            Limit = Paging.Size(request.PageSize),
        });
        FilterReading.RefuseUnknownAxis(control.Machine, request.Axis, page.Records.Count > 0 || request.PageToken.Length > 0, "axis");
        var response = new ListTimeoutProofsResponse { NextPageToken = Paging.Next(page.NextBefore, arguments) };
        response.Proofs.AddRange(page.Records.Select(TimeoutMapping.ToMessage));
        return Task.FromResult(response);
    }

    internal static IEnumerable<int> Readable(DriveDefinition drive) =>
        Enumerable.Range(0, drive.Parameters.Count).Where(index => drive.Parameters[index].Access != RegisterAccess.Write);

    private async Task PostAsync(int axis, ParameterJob job, AuthorityGrant? grant, CancellationToken cancellation)
    {
        if (control.ObjectionTo(axis, job, grant) is { } objection)
        {
            throw ApiErrors.From(objection, control.Machine);
        }

        if (job.Writes)
        {
            Begin(axis, job);
        }

        if (control.Post(axis, job, grant) is { } refusal)
        {
            loads.NotBegun(axis, job);
            throw ApiErrors.From(refusal, control.Machine);
        }

        if (job.Writes)
        {
            diary.Follow(axis, job, grant?.Holder ?? "");
        }

        for (var looks = 0; job.State == ParameterJobState.Posted; looks++)
        {
            if ((looks >= LooksForTaking || cancellation.IsCancellationRequested) && job.TryWithdraw())
            {
                throw ApiErrors.From(control.RefusalOf(axis, Refusal.AxisOffline), control.Machine);
            }

            await Task.Delay(Look, CancellationToken.None);
        }

        ThrowIfRefused(axis, job);
    }

    /// <summary>A load that could not be remembered is not begun: an end of the supervisor in its midst would go unseen.</summary>
    private void Begin(int axis, ParameterJob job)
    {
        try
        {
            if (!loads.TryBegin(axis, job))
            {
                throw ApiErrors.From(control.RefusalOf(axis, Refusal.ParametersInUse), control.Machine);
            }
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            throw ApiErrors.Error(
                StatusCode.FailedPrecondition, "STATE_NOT_WRITABLE",
                $"nothing was written: {loads.Path} can't be written ({exception.Message}), and a load that is cut short must be found after a restart; see to the disk first",
                ("axis", control.Machine.Axes[axis].Name));
        }
    }

    private void ThrowIfRefused(int axis, ParameterJob job)
    {
        if (job.State == ParameterJobState.Refused)
        {
            throw ApiErrors.From(control.RefusalOf(axis, job.Refusal), control.Machine);
        }
    }

    private async Task<int> TellAsync(int axis, ParameterJob job, int told, IServerStreamWriter<WriteParametersResponse> stream)
    {
        // What was not sent is told at the end, when it is known that it never will be.
        var upTo = job.HasEnded ? job.Entries.Count : job.Completed;
        for (; told < upTo; told++)
        {
            var field = control.Machine.Axes[axis].Drive.Parameters[job.Entries[told].Index];
            await stream.WriteAsync(new WriteParametersResponse { Parameter = DriveMapping.Written(field, job.Result(told)) });
        }

        return told;
    }
}
