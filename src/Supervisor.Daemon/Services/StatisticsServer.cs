using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.History.Reading;
using Supervisor.History.Statistics;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Serves what the records of a period come to.</summary>
public sealed class StatisticsServer(HistoryReader reader, MachineDefinition machine, IMonotonicClock clock) : StatisticsService.StatisticsServiceBase
{
    private static readonly TimeSpan Usual = TimeSpan.FromDays(7);

    // One at a time: a question over years reads the whole file, which must not cost a small board more than one thread.
    private static readonly SemaphoreSlim Turn = new(1, 1);

    /// <inheritdoc/>
    public override async Task<GetStatisticsResponse> GetStatistics(GetStatisticsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        ArgumentNullException.ThrowIfNull(context);
        var now = DateTimeOffset.UtcNow;
        var until = FilterReading.TimeOf(request.Until, "until") is { } asked && asked < now ? asked : now;
        var since = FilterReading.TimeOf(request.Since, "since") ?? (until - DateTimeOffset.UnixEpoch > Usual ? until - Usual : DateTimeOffset.UnixEpoch);
        if (since >= until)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, "the period must end after its beginning, which must be in the past", "since");
        }

        await Turn.WaitAsync(context.CancellationToken);
        try
        {
            var told = reader.Statistics(new StatisticsQuestion(since, until) { Axis = request.Axis.Length > 0 ? request.Axis : null, RunsAt = clock.Now });
            FilterReading.RefuseUnknownAxis(machine, request.Axis, told.Faults + told.Warnings + told.Stops.Count > 0, "axis");
            return StatisticsMapping.ToMessage(told);
        }
        finally
        {
            Turn.Release();
        }
    }
}
