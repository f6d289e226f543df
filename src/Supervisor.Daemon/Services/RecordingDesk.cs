using System.Globalization;
using Google.Protobuf.WellKnownTypes;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.History;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.History.Recordings;
using Supervisor.History.Recordings.Reading;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Answers what is asked of recordings.</summary>
public sealed class RecordingDesk(HistoryReader reader, RecordingReader samples)
{
    private const int DefaultPage = 50;
    private const int SamplesOfAMessage = 500;
    private const int MostKept = 10_000;

    /// <summary>A page, newest first.</summary>
    public ListRecordingsResponse List(ListRecordingsRequest request)
    {
        ArgumentNullException.ThrowIfNull(request);
        var arguments = string.Create(CultureInfo.InvariantCulture, $"ListRecordings\n{request.Incident}");
        var page = reader.Query(new HistoryFilter
        {
            Kinds = [History.Entries.RecordKind.Recording],
            Incident = request.Incident > 0 ? request.Incident : null,
            BeforeSequence = Before(request.PageToken, arguments),
            Limit = request.PageSize switch
            {
                < 0 => throw ApiErrors.Refuse(Refusal.InvalidArgument, "page_size can't be negative; leave it out for the default", "page_size"),
                0 => DefaultPage,
                _ => Math.Min(request.PageSize, HistoryFilter.MaximumLimit),
            },
        });
        var kept = samples.Newest(MostKept).Where(entry => entry.IsKept).Select(entry => entry.Sequence).ToHashSet();
        var response = new ListRecordingsResponse { NextPageToken = page.NextBefore is { } next ? PageToken.Write(next, arguments) : "" };
        response.Recordings.AddRange(page.Records.Select(stored => Entry(stored, kept.Contains(stored.Sequence))));
        return response;
    }

    /// <summary>One recording, message by message.</summary>
    public IEnumerable<ReadRecordingResponse> Read(ReadRecordingRequest request)
    {
        ArgumentNullException.ThrowIfNull(request);
        var stored = Find(request.Sequence);
        var recording = samples.Read(request.Sequence, request.Axes.Count > 0 ? request.Axes : null) ?? throw ApiErrors.Error(
            StatusCode.FailedPrecondition, "RECORDING_NOT_KEPT",
            $"the samples of recording {request.Sequence} are not kept: newer ones pushed them out, or the day's share of their room was used up", ("sequence", Text(request.Sequence)));
        RefuseUnknown(request.Axes, recording.Head);
        return Messages(stored, recording, request.Axes);
    }

    private static IEnumerable<ReadRecordingResponse> Messages(StoredRecord stored, Recording recording, Google.Protobuf.Collections.RepeatedField<string> axes)
    {
        var begin = new RecordingBegin
        {
            Recording = Entry(stored, hasSamples: true),
            Trace = TraceMapping.Begin(recording.Head.Axes, stored.Utc, stored.Record.At),
            FromUs = TraceMapping.Microseconds(recording.Head.From),
            ToUs = TraceMapping.Microseconds(recording.Head.To),
            EventUs = TraceMapping.Microseconds(stored.Record.At),
            MoreGaps = recording.Head.MoreGaps,
        };
        begin.Gaps.AddRange(recording.Head.Gaps.Where(gap => axes.Count == 0 || axes.Contains(recording.Head.Axes[gap.Axis].Name)).Select(gap => TraceMapping.ToMessage(gap, gap.Axis)));
        yield return new ReadRecordingResponse { Begin = begin };
        for (var axis = 0; axis < recording.Samples.Count; axis++)
        {
            foreach (var some in recording.Samples[axis].Chunk(SamplesOfAMessage))
            {
                var batch = new TraceBatch();
                foreach (var sample in some)
                {
                    batch.Samples.Add(TraceMapping.ToMessage(sample, axis));
                }

                yield return new ReadRecordingResponse { Batch = batch };
            }
        }
    }

    private StoredRecord Find(long sequence) =>
        reader.Query(new HistoryFilter { Kinds = [History.Entries.RecordKind.Recording], AfterSequence = sequence - 1, BeforeSequence = sequence + 1, Limit = 1 }).Records is [var found]
            ? found
            : throw ApiErrors.Error(
                StatusCode.NotFound, "UNKNOWN_RECORDING", $"there is no recording {sequence}; `recordings` lists those there are", ("sequence", Text(sequence)));

    private static void RefuseUnknown(IEnumerable<string> names, RecordingHead head)
    {
        foreach (var name in names.Where(name => head.Axes.All(axis => axis.Name != name)))
        {
            throw ApiErrors.Refuse(Refusal.UnknownAxis, $"the recording has no axis '{name}'; it has {string.Join(", ", head.Axes.Select(axis => axis.Name))}", "axes");
        }
    }

    private static Api.V1.RecordingEntry Entry(StoredRecord stored, bool hasSamples)
    {
        var record = (RecordingRecord)stored.Record;
        return new Api.V1.RecordingEntry
        {
            Sequence = stored.Sequence,
            Time = Timestamp.FromDateTimeOffset(stored.Utc),
            TimeTrusted = stored.Quality is UtcQuality.Synchronised or UtcQuality.Derived,
            Axis = record.Axis ?? "",
            What = record.What,
            BeforeS = (record.At - record.From).TotalSeconds,
            AfterS = (record.To - record.At).TotalSeconds,
            Events = record.Events,
            EventsBeyond = record.EventsBeyond,
            Gaps = record.Gaps,
            HasSamples = hasSamples,
            Incident = stored.Incident ?? 0,
        };
    }

    private static long? Before(string token, string arguments) => token.Length == 0 ? null
        : PageToken.TryRead(token, arguments, out var before) ? before
        : throw ApiErrors.Refuse(
            Refusal.InvalidArgument, "page_token is none of this list, or the other arguments changed since; begin again without it", "page_token");

    private static string Text(long sequence) => sequence.ToString(CultureInfo.InvariantCulture);
}
