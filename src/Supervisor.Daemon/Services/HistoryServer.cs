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

namespace Supervisor.Daemon.Services;

/// <summary>Serves what was recorded.</summary>
public sealed class HistoryServer(HistoryReader reader, MachineDefinition machine) : HistoryService.HistoryServiceBase
{
    private const int DefaultPage = 50;
    private const int LargestPage = HistoryFilter.MaximumLimit;

    /// <inheritdoc/>
    public override Task<ListFaultsResponse> ListFaults(ListFaultsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = $"ListFaults\n{request.Axis}";
        var page = reader.Query(new HistoryFilter
        {
            Kinds = [RecordKind.Fault],
            Axis = request.Axis.Length > 0 ? request.Axis : null,
            BeforeSequence = Before(request.PageToken, arguments),
            Limit = PageSize(request.PageSize),
        });
        RefuseUnknownAxis(request.Axis, page, request.PageToken);
        var response = new ListFaultsResponse { NextPageToken = Next(page, arguments) };
        response.Faults.AddRange(page.Records.Select(ToMessage));
        return Task.FromResult(response);
    }

    /// <inheritdoc/>
    public override Task<ListStopsResponse> ListStops(ListStopsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = $"ListStops\n{request.Axis}";
        var page = OfAxis(RecordKind.Stop, request.Axis, request.PageToken, request.PageSize, arguments);
        var response = new ListStopsResponse { NextPageToken = Next(page, arguments) };
        response.Stops.AddRange(page.Records.Select(StopMapping.ToMessage));
        return Task.FromResult(response);
    }

    /// <inheritdoc/>
    public override Task<ListRecoveriesResponse> ListRecoveries(ListRecoveriesRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = $"ListRecoveries\n{request.Axis}";
        var page = OfAxis(RecordKind.Recovery, request.Axis, request.PageToken, request.PageSize, arguments);
        var response = new ListRecoveriesResponse { NextPageToken = Next(page, arguments) };
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
            BeforeSequence = Before(token, arguments),
            Limit = PageSize(size),
        });
        RefuseUnknownAxis(axis, page, token);
        return page;
    }

    /// <summary>An axis of an earlier machine file has records; a slip of the pen has not.</summary>
    private void RefuseUnknownAxis(string axis, HistoryPage page, string token)
    {
        if (page.Records.Count == 0 && token.Length == 0 && axis.Length > 0 && machine.AxisIndex(axis) < 0)
        {
            throw ApiErrors.Refuse(Refusal.UnknownAxis, machine.DescribeUnknownAxis(axis), "axis");
        }
    }

    private static string Next(HistoryPage page, string arguments) => page.NextBefore is { } next ? PageToken.Write(next, arguments) : "";

    private static long? Before(string token, string arguments)
    {
        if (token.Length == 0)
        {
            return null;
        }

        return PageToken.TryRead(token, arguments, out var before)
            ? before
            : throw ApiErrors.Refuse(
                Refusal.InvalidArgument, "page_token is none of this list, or the other arguments changed since; begin again without it", "page_token");
    }

    private static int PageSize(int asked) => asked switch
    {
        < 0 => throw ApiErrors.Refuse(Refusal.InvalidArgument, "page_size can't be negative; leave it out for the default", "page_size"),
        0 => DefaultPage,
        _ => Math.Min(asked, LargestPage),
    };

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
