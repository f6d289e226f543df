using Supervisor.Benchmarks.Results;
using Supervisor.Benchmarks.Rig;

namespace Supervisor.Benchmarks.Stops;

/// <summary>What the requests around trips tell.</summary>
internal sealed class TripCount
{
    /// <summary>From a trip to the beginning of the first stop frame.</summary>
    public Histogram ToStop { get; } = new();

    public Histogram ToStopEven { get; } = new();

    public Histogram ToStopOdd { get; } = new();

    /// <summary>Frames that let an axis move, begun after their trip was visible to every thread.</summary>
    public long MotionAfter { get; private set; }

    /// <summary>The same before it: without any the count after it would prove nothing.</summary>
    public long MotionBefore { get; private set; }

    /// <summary>Requests of any kind begun between the visible trip and the first stop frame.</summary>
    public long BegunBefore { get; private set; }

    public long WithoutStop { get; private set; }

    /// <summary>Trips that ended with a fault.</summary>
    public int Disturbed { get; set; }

    /// <summary>Takes one trip, over when every axis rests.</summary>
    /// <param name="frames">Requests of the port.</param>
    /// <param name="from">Where those of this trip begin.</param>
    /// <param name="given">Time before the latch was tripped.</param>
    /// <param name="visible">Time after it was.</param>
    public void Take(FrameLog frames, long from, TimeSpan given, TimeSpan visible)
    {
        TimeSpan? stop = null;
        for (var i = from; i < frames.Count; i++)
        {
            var frame = frames[i];
            var isMotion = frame.Kind == FrameKind.Motion;
            MotionBefore += isMotion && frame.At < given ? 1 : 0;
            MotionAfter += isMotion && frame.At > visible ? 1 : 0;
            stop ??= frame.Kind == FrameKind.Stop && frame.At >= given ? frame.At : null;
            BegunBefore += stop is null && frame.At > visible ? 1 : 0;
        }

        if (stop is not { } at)
        {
            WithoutStop++;
            return;
        }

        ToStop.Add(at - given);
        (ToStop.Count % 2 == 0 ? ToStopEven : ToStopOdd).Add(at - given);
    }
}
