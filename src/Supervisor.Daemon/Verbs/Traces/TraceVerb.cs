using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs.Traces;

/// <summary><c>trace [AXIS…] [--channels …] [--seconds N] [--plot FILE] [--csv|--json] [--recording N]</c>.</summary>
internal static class TraceVerb
{
    private const double LongestSeconds = 3_600;
    private const double SecondsOfAPlot = 10;

    public static Command Build()
    {
        var axes = ClientOptions.Axes("all");
        var channels = new Option<string>("--channels")
        {
            Description = $"What to show, separated by commas, of: {string.Join(", ", TraceChannel.Names)}. Otherwise {string.Join(", ", TraceChannel.Usual)}.", HelpName = "LIST",
        };
        var seconds = Numbers.Option("--seconds", "N", $"How long, at most {LongestSeconds:0} s; otherwise until Ctrl-C, for a plot {SecondsOfAPlot:0} s.", required: false);
        var before = Numbers.Option("--before", "N", "Begin that many seconds back, as far as the daemon's memory reaches.", required: false);
        var recording = new Option<long?>("--recording") { Description = "Show a recording instead, by its number in `recordings`.", HelpName = "NUMBER" };
        var plot = new Option<string?>("--plot") { Description = "Write a plot (SVG) at the end.", HelpName = "FILE" };
        var csv = new Option<bool>("--csv") { Description = "Print every sample as a line of a table, for spreadsheets." };
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var verb = new Command(
            "trace", "Show what axes do in every cycle while the machine runs, or a recording around a fault: least, mean and greatest value of each second. The machine does not notice.")
        {
            axes, channels, seconds, before, recording, plot, csv, json, server,
        };
        verb.Check(result =>
        {
            Check(result.GetValue(seconds) is not (<= 0 or > LongestSeconds), $"--seconds must be above 0 and at most {LongestSeconds:0}");
            Check(result.GetValue(before) is not (< 0 or > 120), "--before must be 0 to 120");
            Check(result.GetResult(recording) is null || (result.GetResult(seconds) is null && result.GetResult(before) is null), "--recording takes neither --seconds nor --before");
            Check(!(result.GetValue(csv) && result.GetValue(json)), "--csv and --json exclude each other");
            var unknown = Channels(result.GetValue(channels)).Except(TraceChannel.Names).FirstOrDefault();
            Check(unknown is null, $"--channels: there is no '{unknown}'; there are {string.Join(", ", TraceChannel.Names)}");

            void Check(bool good, string message)
            {
                if (!good)
                {
                    result.AddError(message);
                }
            }
        });
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var output = new TraceOutput(
                    Channels(parsed.GetValue(channels)), parsed.GetValue(csv) ? TraceForm.Csv : parsed.GetValue(json) ? TraceForm.Json : TraceForm.Text, parsed.GetValue(plot));
                var names = parsed.GetValue(axes) ?? [];
                return parsed.GetValue(recording) is { } number
                    ? await ShowAsync(daemon, number, names, output, ends)
                    : await FollowAsync(daemon, names, parsed.GetValue(before), parsed.GetValue(seconds) ?? (output.HasPlot ? SecondsOfAPlot : double.PositiveInfinity), output, ends);
            },
            cancellation));
        return verb;
    }

    private static async Task<int> FollowAsync(DaemonConnection daemon, string[] axes, double? before, double seconds, TraceOutput output, CancellationToken cancellation)
    {
        var request = new WatchTraceRequest { Before = before is { } back ? Google.Protobuf.WellKnownTypes.Duration.FromTimeSpan(TimeSpan.FromSeconds(back)) : null };
        request.Axes.AddRange(axes);
        using var call = daemon.Trace.WatchTrace(request, cancellationToken: cancellation);
        try
        {
            var untilUs = long.MaxValue;
            while (await call.ResponseStream.MoveNext(cancellation))
            {
                var told = call.ResponseStream.Current;
                if (told.Begin is { } begin)
                {
                    output.Begin(begin, begin.MonotonicUs, "trace");
                    untilUs = double.IsFinite(seconds) ? begin.MonotonicUs + (long)(seconds * 1e6) : untilUs;
                }
                else if (told.Batch is { } batch && output.Take(batch, untilUs))
                {
                    return output.End();
                }
            }
        }
        catch (Exception exception) when (cancellation.IsCancellationRequested && exception is OperationCanceledException or Grpc.Core.RpcException)
        {
            // A person has seen enough: what was seen is kept.
            output.End();
            return ExitCode.Interrupted;
        }

        output.End();
        Terminal.Error("the daemon ended the stream");
        return ExitCode.Failed;
    }

    private static async Task<int> ShowAsync(DaemonConnection daemon, long number, string[] axes, TraceOutput output, CancellationToken cancellation)
    {
        var request = new ReadRecordingRequest { Sequence = number };
        request.Axes.AddRange(axes);
        using var call = daemon.Trace.ReadRecording(request, cancellationToken: cancellation);
        while (await call.ResponseStream.MoveNext(cancellation))
        {
            var told = call.ResponseStream.Current;
            if (told.Begin is { } begin)
            {
                output.Begin(begin.Trace, begin.EventUs, Title(begin.Recording));
                output.Mark(begin.EventUs, begin.Recording.What);
                output.Take(new TraceBatch { Gaps = { begin.Gaps } }, long.MaxValue);
            }
            else if (told.Batch is { } batch)
            {
                output.Take(batch, long.MaxValue);
            }
        }

        return output.End();
    }

    private static string Title(RecordingEntry entry) =>
        $"Recording {entry.Sequence}, {Text.Time(entry.Time, entry.TimeTrusted)}: {(entry.Axis.Length > 0 ? $"{entry.Axis}, " : "")}{entry.What}";

    private static IReadOnlyList<string> Channels(string? list) =>
        list is null ? TraceChannel.Usual : list.Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
}
