using System.Collections.Concurrent;
using Google.Protobuf.WellKnownTypes;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Messages;
using Supervisor.History;
using Supervisor.History.Outbox;
using Supervisor.History.Reading;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Serves messages to people: what waits, what was sent, and trials.</summary>
public sealed class MessageServer(HistoryStore history, MachineDefinition machine, Messenger messenger, TrialPace pace) : MessageService.MessageServiceBase
{
    /// <inheritdoc/>
    public override Task<ListMessagesResponse> ListMessages(ListMessagesRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = $"ListMessages\n{request.Channel}\n{request.WaitingOnly}";
        var size = Paging.Size(request.PageSize);
        var found = history.Outbox.Page(new OutboxFilter
        {
            Channel = request.Channel.Length > 0 ? request.Channel : null,
            IsWaiting = request.WaitingOnly,
            Before = Paging.Before(request.PageToken, arguments),
            Limit = size + 1,
        });
        if (found.Count == 0 && request is { Channel.Length: > 0, PageToken.Length: 0 })
        {
            RefuseUnknown(request.Channel);
        }

        var response = new ListMessagesResponse { NextPageToken = Paging.Next(found.Count > size ? found[size - 1].Number : null, arguments) };
        response.Messages.AddRange(found.Take(size).Select(ToMessage));
        return Task.FromResult(response);
    }

    /// <inheritdoc/>
    public override async Task<SendTrialResponse> SendTrial(SendTrialRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        ArgumentNullException.ThrowIfNull(context);
        RefuseUnknown(request.Channel);
        if (!pace.TryBegin(request.Channel))
        {
            throw ApiErrors.Error(StatusCode.ResourceExhausted, "TRIAL_TOO_SOON", $"{request.Channel} was tried less than {TrialPace.Rest.TotalSeconds:0} s ago; wait a moment", ("field", "channel"));
        }

        var result = await messenger.TryAsync(request.Channel, context.CancellationToken);
        return new SendTrialResponse { Taken = result!.Value.IsTaken, Answer = result.Value.Answer };
    }

    private void RefuseUnknown(string channel)
    {
        if (!machine.Messages.Any(each => each.Name == channel))
        {
            throw ApiErrors.Refuse(
                Refusal.InvalidArgument,
                machine.Messages.Count == 0 ? "the machine file has no channels (messages)" : $"there is no channel {channel}; the machine file has {string.Join(", ", machine.Messages.Select(each => each.Name))}",
                "channel");
        }
    }

    private static Message ToMessage(OutboxMessage message)
    {
        // The API's numbers are the file's.
        var told = new Message
        {
            Number = message.Number,
            Channel = message.Channel,
            Kind = (MessageKind)message.Kind,
            State = (MessageState)message.State,
            Incident = message.Incident ?? 0,
            Identity = message.Identity,
            Priority = MessageText.Word(message.Priority),
            Title = message.Content?.Subject ?? "",
            Made = TimeOf(message.Made),
            ToldWithin = message.Summary ?? 0,
            Answer = message.Answer,
        };
        if (message.Done is { } done)
        {
            told.Done = TimeOf(done);
        }

        return told;
    }

    private static Timestamp? TimeOf(OutboxStamp stamp) => stamp.Clock.Utc >= StoredRecord.EarliestPossible ? Timestamp.FromDateTimeOffset(stamp.Clock.Utc) : null;
}

/// <summary>Keeps trials apart: whoever can reach the socket must not flood a person through it.</summary>
public sealed class TrialPace(IMonotonicClock clock)
{
    /// <summary>Time between two trials of a channel.</summary>
    public static readonly TimeSpan Rest = TimeSpan.FromSeconds(10);

    private readonly ConcurrentDictionary<string, TimeSpan> _last = new(StringComparer.Ordinal);

    /// <summary>False while the last trial of the channel is too near.</summary>
    public bool TryBegin(string channel)
    {
        var now = clock.Now;
        var last = _last.GetOrAdd(channel, _ => now - Rest);
        return now - last >= Rest && _last.TryUpdate(channel, now, last);
    }
}
