using System.Globalization;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using Outcome = Supervisor.Records.Commands.Outcome;

namespace Supervisor.Daemon.Services;

/// <summary>Serves signal lights, horn and counters.</summary>
public sealed class SignalServer(MachineControl control) : SignalService.SignalServiceBase
{
    /// <inheritdoc/>
    public override async Task<SilenceHornResponse> SilenceHorn(SilenceHornRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        return new SilenceHornResponse { Message = await DoAsync(new SilenceHornCommand(CommandReading.Name(request.RequestedBy)), context) };
    }

    /// <inheritdoc/>
    public override async Task<TestLampsResponse> TestLamps(TestLampsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        return new TestLampsResponse { Message = await DoAsync(new TestLampsCommand(request.Horn, CommandReading.Name(request.RequestedBy)), context) };
    }

    /// <inheritdoc/>
    public override async Task<ResetCounterResponse> ResetCounter(ResetCounterRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var counter = control.Machine.CounterIndex(request.Name);
        if (counter < 0)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, control.Machine.DescribeUnknownCounter(request.Name), "name");
        }

        return new ResetCounterResponse { Message = await DoAsync(new ResetCounterCommand(counter, CommandReading.Name(request.RequestedBy)), context) };
    }

    /// <inheritdoc/>
    public override Task<ListCountersResponse> ListCounters(ListCountersRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var all = control.Machine.Counters;
        var first = First(request.PageToken);
        var size = request.PageSize switch
        {
            < 0 => throw ApiErrors.Refuse(Refusal.InvalidArgument, "page_size can't be negative; leave it out for all", "page_size"),
            0 => all.Count,
            var asked => asked,
        };
        var response = new ListCountersResponse();
        for (var i = first; i < all.Count && i - first < size; i++)
        {
            response.Counters.Add(Of(i));
        }

        var next = first + response.Counters.Count;
        response.NextPageToken = next < all.Count ? next.ToString(CultureInfo.InvariantCulture) : "";
        return Task.FromResult(response);
    }

    private int First(string token)
    {
        if (token.Length == 0)
        {
            return 0;
        }

        return int.TryParse(token, NumberStyles.None, CultureInfo.InvariantCulture, out var first) && first < control.Machine.Counters.Count
            ? first
            : throw ApiErrors.Refuse(Refusal.InvalidArgument, "page_token is none of this list; begin again without it", "page_token");
    }

    private Counter Of(int index)
    {
        var count = control.Count(index);
        var counter = new Counter { Name = control.Machine.Counters[index].Name, Count = count };
        foreach (var alarm in control.Machine.Alarms.Where(alarm => alarm.Counter?.Counter == index).OrderBy(alarm => alarm.Counter!.AtLeast))
        {
            (counter.Alarm, counter.AlarmAt) = (alarm.Number, alarm.Counter!.AtLeast);
            if (counter.AlarmAt > count)
            {
                break;
            }
        }

        return counter;
    }

    private async Task<string> DoAsync(UnheldCommand command, ServerCallContext context)
    {
        var answer = await control.Submit(command, null).Completion.WaitAsync(context.CancellationToken);
        return answer.Outcome == Outcome.Done ? answer.Message : throw ApiErrors.From(answer, control.Machine);
    }
}
