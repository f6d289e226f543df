using Supervisor.Api.V1;
using Supervisor.History.Recordings.Cutting;

namespace Supervisor.Daemon.Services;

/// <summary>
/// The batch of samples that a stream is told, made once and filled again each time: sixty-four axes at 10 ms are thousands of messages a second and reader,
/// and what must be collected holds up the ports' threads.
/// </summary>
/// <param name="most">Samples in a batch.</param>
internal sealed class SampleBatch(int most)
{
    private readonly List<TraceSample> _samples = [];
    private readonly WatchTraceResponse _response = new() { Batch = new TraceBatch() };

    /// <summary>Fills it with what a trace has by now; the next call takes its place.</summary>
    /// <returns>Null when there is nothing.</returns>
    public WatchTraceResponse? Take(LiveTrace trace)
    {
        var batch = _response.Batch;
        batch.Samples.Clear();
        batch.Gaps.Clear();
        while (batch.Samples.Count < most && trace.TryRead(out var sample, out var axis, out var gap))
        {
            if (gap is { } missing)
            {
                batch.Gaps.Add(TraceMapping.ToMessage(missing, axis));
            }

            var index = batch.Samples.Count;
            if (index == _samples.Count)
            {
                _samples.Add(new TraceSample());
            }

            TraceMapping.Fill(_samples[index], sample, axis);
            batch.Samples.Add(_samples[index]);
        }

        return batch.Samples.Count > 0 ? _response : null;
    }
}
