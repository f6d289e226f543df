using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.History;
using Supervisor.History.Reading;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Serves everything that was recorded, and incidents. Each question reads the file by itself: no client can hold up the writer.</summary>
public sealed class RecordServer(HistoryStore history, MachineDefinition machine, StreamPace pace) : RecordService.RecordServiceBase
{
    private readonly RecordMapping _records = new(machine);
    private readonly IncidentMapping _incidents = new(new RecordMapping(machine));

    /// <inheritdoc/>
    public override Task<ListRecordsResponse> ListRecords(ListRecordsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = $"ListRecords\n{request.Filter}";
        var page = history.Reader.Query(FilterReading.Read(request.Filter) with
        {
            BeforeSequence = Paging.Before(request.PageToken, arguments), Limit = Paging.Size(request.PageSize),
        });
        FilterReading.RefuseUnknownAxis(machine, request.Filter?.Axis ?? "", page.Records.Count > 0 || request.PageToken.Length > 0, "filter.axis");
        var response = new ListRecordsResponse { NextPageToken = Paging.Next(page.NextBefore, arguments) };
        response.Records.AddRange(page.Records.Select(_records.ToMessage));
        return Task.FromResult(response);
    }

    /// <inheritdoc/>
    public override async Task FollowRecords(FollowRecordsRequest request, IServerStreamWriter<FollowRecordsResponse> responseStream, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        ArgumentNullException.ThrowIfNull(responseStream);
        ArgumentNullException.ThrowIfNull(context);
        if (request is { HasAfterSequence: true, AfterSequence: < 0 })
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, "after_sequence can't be negative; 0 begins with the oldest", "after_sequence");
        }

        using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.CancellationToken, pace.Ending);
        var follower = new RecordFollower(
            history, FilterReading.Read(request.Filter), record => responseStream.WriteAsync(new FollowRecordsResponse { Record = _records.ToMessage(record) }, ends.Token),
            (first, last, missing) => responseStream.WriteAsync(
                new FollowRecordsResponse { Gap = new RecordGap { FirstSequence = first, LastSequence = last, Missing = missing } }, ends.Token),
            through => responseStream.WriteAsync(new FollowRecordsResponse { Progress = new FollowProgress { ThroughSequence = through } }, ends.Token));
        await follower.RunAsync(request.HasAfterSequence ? request.AfterSequence : null, ends.Token);
    }

    /// <inheritdoc/>
    public override Task<ListIncidentsResponse> ListIncidents(ListIncidentsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = $"ListIncidents\n{request.Filter}";
        var page = history.Reader.Incidents(FilterReading.Read(request.Filter) with
        {
            BeforeSequence = Paging.Before(request.PageToken, arguments), Limit = Paging.Size(request.PageSize),
        });
        FilterReading.RefuseUnknownAxis(machine, request.Filter?.Axis ?? "", page.Incidents.Count > 0 || request.PageToken.Length > 0, "filter.axis");
        var response = new ListIncidentsResponse { NextPageToken = Paging.Next(page.NextBefore, arguments) };
        response.Incidents.AddRange(page.Incidents.Select(_incidents.ToMessage));
        return Task.FromResult(response);
    }

    /// <inheritdoc/>
    public override Task<GetIncidentResponse> GetIncident(GetIncidentRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        return history.Reader.Incident(request.Number) is { } story
            ? Task.FromResult(_incidents.ToMessage(story))
            : throw ApiErrors.Error(
                StatusCode.NotFound, "UNKNOWN_INCIDENT", $"no incident {request.Number} is kept; `incident` lists those that are", ("field", "number"));
    }
}
