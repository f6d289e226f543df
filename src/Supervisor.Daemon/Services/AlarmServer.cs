using Google.Protobuf.WellKnownTypes;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Memories;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using AlarmStatus = Supervisor.Machine.Api.AlarmStatus;

namespace Supervisor.Daemon.Services;

/// <summary>Serves the alarms. What a person does is answered once it is on the disk.</summary>
public sealed class AlarmServer(MachineControl control, AlarmKeeper keeper, StreamPace pace) : AlarmService.AlarmServiceBase
{
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(100);

    /// <summary>The longest that an answer waits for the disk.</summary>
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    private readonly AlarmMapping _mapping = new(control.Machine);
    private readonly AlarmReading _reading = new(control.Machine);

    /// <inheritdoc/>
    public override Task<ListAlarmsResponse> ListAlarms(ListAlarmsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = $"ListAlarms\n{request.Axis}\n{request.Unacknowledged}\n{request.Language}";
        var behind = Paging.Before(request.PageToken, arguments) ?? 0;
        var size = Paging.Size(request.PageSize);
        FilterReading.RefuseUnknownAxis(control.Machine, request.Axis, found: false, "axis");
        var list = control.Alarms;
        var wanted = list.Alarms.Where(alarm => AlarmReading.Fits(alarm, request, control.Machine)).OrderBy(AlarmReading.Place).SkipWhile(alarm => AlarmReading.Place(alarm) <= behind);
        var page = wanted.Take(size + 1).ToArray();
        var response = new ListAlarmsResponse
        {
            NextPageToken = page.Length > size ? PageToken.Write(AlarmReading.Place(page[size - 1]), arguments) : "",
            NotKept = list.NotKept,
        };
        response.Alarms.AddRange(page.Take(size).Select(alarm => _mapping.ToMessage(alarm, request.Language)));
        return Task.FromResult(response);
    }

    /// <inheritdoc/>
    public override async Task WatchAlarms(WatchAlarmsRequest request, IServerStreamWriter<WatchAlarmsResponse> responseStream, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        ArgumentNullException.ThrowIfNull(responseStream);
        ArgumentNullException.ThrowIfNull(context);
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.CancellationToken, pace.Ending);
        using var timer = new PeriodicTimer(Look);
        AlarmList? told = null;
        var silent = TimeSpan.Zero;
        do
        {
            var list = control.Alarms;
            if (!ReferenceEquals(list, told))
            {
                var change = _mapping.Change(told, list, request.Language);
                await responseStream.WriteAsync(told is null ? new WatchAlarmsResponse { All = change } : new WatchAlarmsResponse { Change = change }, ends.Token);
                (told, silent) = (list, TimeSpan.Zero);
            }
            else if ((silent += Look) >= StreamPace.Heartbeat)
            {
                await responseStream.WriteAsync(new WatchAlarmsResponse { Heartbeat = new Heartbeat() }, ends.Token);
                silent = TimeSpan.Zero;
            }
        }
        while (await timer.WaitForNextTickAsync(ends.Token));
    }

    /// <inheritdoc/>
    public override async Task<AcknowledgeAlarmsResponse> AcknowledgeAlarms(AcknowledgeAlarmsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var (message, kept) = await RunAsync(_reading.Acknowledge(request), context);
        return new AcknowledgeAlarmsResponse { Message = message, Kept = kept };
    }

    /// <inheritdoc/>
    public override async Task<TakeAlarmsOutOfServiceResponse> TakeAlarmsOutOfService(TakeAlarmsOutOfServiceRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var (message, kept) = await RunAsync(_reading.TakeOut(request), context);
        return new TakeAlarmsOutOfServiceResponse { Message = message, Kept = kept };
    }

    /// <inheritdoc/>
    public override async Task<PutAlarmsBackInServiceResponse> PutAlarmsBackInService(PutAlarmsBackInServiceRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var (message, kept) = await RunAsync(_reading.PutBack(request), context);
        return new PutAlarmsBackInServiceResponse { Message = message, Kept = kept };
    }

    private async Task<(string Message, bool Kept)> RunAsync(AlarmCommand command, ServerCallContext context)
    {
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.CancellationToken, pace.Ending);
        var answer = await control.Submit(command, null).Completion.WaitAsync(ends.Token);
        return answer.Outcome == Records.Commands.Outcome.Done
            ? (answer.Message, await keeper.KeepAsync(Patience, ends.Token))
            : throw ApiErrors.From(answer, control.Machine);
    }
}
