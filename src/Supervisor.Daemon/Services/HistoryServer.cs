using Google.Protobuf.WellKnownTypes;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using FaultRecord = Supervisor.Api.V1.FaultRecord;
using RecordKind = Supervisor.History.Entries.RecordKind;

namespace Supervisor.Daemon.Services;

/// <summary>Serves what was recorded.</summary>
public sealed class HistoryServer(HistoryReader reader, MachineDefinition machine) : HistoryService.HistoryServiceBase
{
    /// <inheritdoc/>
    public override Task<ListFaultsResponse> ListFaults(ListFaultsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = $"ListFaults\n{request.Axis}";
        var page = reader.Query(new HistoryFilter
        {
            Kinds = [RecordKind.Fault],
            Axis = request.Axis.Length > 0 ? request.Axis : null,
            BeforeSequence = Paging.Before(request.PageToken, arguments),
            Limit = Paging.Size(request.PageSize),
        });
        FilterReading.RefuseUnknownAxis(machine, request.Axis, page.Records.Count > 0 || request.PageToken.Length > 0, "axis");
        var response = new ListFaultsResponse { NextPageToken = Paging.Next(page.NextBefore, arguments) };
        response.Faults.AddRange(page.Records.Select(ToMessage));
        return Task.FromResult(response);
    }

    /// <inheritdoc/>
    public override Task<ListStopsResponse> ListStops(ListStopsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = $"ListStops\n{request.Axis}";
        var page = OfAxis(RecordKind.Stop, request.Axis, request.PageToken, request.PageSize, arguments);
        var response = new ListStopsResponse { NextPageToken = Paging.Next(page.NextBefore, arguments) };
        response.Stops.AddRange(page.Records.Select(StopMapping.ToMessage));
        return Task.FromResult(response);
    }

    /// <inheritdoc/>
    public override Task<ListRecoveriesResponse> ListRecoveries(ListRecoveriesRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = $"ListRecoveries\n{request.Axis}";
        var page = OfAxis(RecordKind.Recovery, request.Axis, request.PageToken, request.PageSize, arguments);
        var response = new ListRecoveriesResponse { NextPageToken = Paging.Next(page.NextBefore, arguments) };
        response.Recoveries.AddRange(page.Records.Select(RecoveryMapping.ToMessage));
        return Task.FromResult(response);
    }

    /// <summary>A page of one kind of records, of one axis or of all.</summary>
    private HistoryPage OfAxis(RecordKind kind, string axis, string token, int size, string arguments)
    {
        var page = reader.Query(new HistoryFilter
        {
            Kinds = [kind],
            Axis = axis.Length > 0 ? axis : null,
            BeforeSequence = Paging.Before(token, arguments),
            Limit = Paging.Size(size),
        });
        FilterReading.RefuseUnknownAxis(machine, axis, page.Records.Count > 0 || token.Length > 0, "axis");
        return page;
    }

    private FaultRecord ToMessage(StoredRecord stored)
    {
        var fault = (History.Entries.FaultRecord)stored.Record;
        var entry = FaultCatalogue.Entry(fault.Code);
        var axis = fault.Axis is null ? -1 : machine.AxisIndex(fault.Axis);
        var message = new FaultRecord
        {
            Sequence = stored.Sequence,
            Time = Timestamp.FromDateTimeOffset(stored.Utc),
            TimeTrusted = stored.Quality is UtcQuality.Synchronised or UtcQuality.Derived,
            Axis = fault.Axis ?? "",
            Port = fault.Port ?? "",
            Interlock = fault.Interlock ?? "",
            Fault = ApiErrors.ReasonOf(fault.Code),
            Meaning = entry.Meaning,
            Remedy = entry.Remedy,
            DriveCode = fault.DriveCode,
            State = StatusMapping.ToMessage(fault.State),
            Unit = axis >= 0 ? machine.Axes[axis].Unit : "",
            CommandId = fault.CommandId,
            Note = fault.Note,
            ConsequenceOf = fault.ConsequenceOf,
            Warning = fault.Class == FaultClass.Warning,
        };
        if (double.IsFinite(fault.Position))
        {
            message.Position = fault.Position;
        }

        return message;
    }
}
