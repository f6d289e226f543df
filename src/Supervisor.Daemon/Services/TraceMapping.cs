using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.History.Recordings;
using Supervisor.Records.Faults;
using Supervisor.Records.Tracing;
using GapCause = Supervisor.Api.V1.GapCause;
using TraceGap = Supervisor.History.Recordings.TraceGap;
using TraceSample = Supervisor.Records.Tracing.TraceSample;

namespace Supervisor.Daemon.Services;

/// <summary>Samples and what is told with them as messages.</summary>
internal static class TraceMapping
{
    public static Api.V1.TraceSample ToMessage(in TraceSample sample, int axis)
    {
        var message = new Api.V1.TraceSample();
        Fill(message, sample, axis);
        return message;
    }

    /// <summary>Puts a sample in the place of what the message held.</summary>
    public static void Fill(Api.V1.TraceSample message, in TraceSample sample, int axis)
    {
        message.Axis = (uint)axis;
        message.AtUs = Microseconds(sample.At);
        message.Cycle = sample.Cycle;
        message.State = StatusMapping.ToMessage(sample.State);
        message.Detail = StatusMapping.ToMessage(sample.Detail);
        message.Fault = sample.Fault == FaultCode.None ? "" : ApiErrors.ReasonOf(sample.Fault);
        message.Result = (Api.V1.ExchangeResult)sample.Result;
        message.Misses = sample.Misses;
        message.ReplyMs = (sample.ReplyTime * Supervisor.Records.Tracing.TraceSample.ReplyTimeStep).TotalMilliseconds;
        message.CommandedPosition = sample.CommandedPosition;
        message.Velocity = sample.Velocity;
        message.Torque = sample.Torque;
        message.Inputs = sample.Inputs;
        message.Online = sample.Has(TraceFlags.Online);
        message.TorqueOn = sample.Has(TraceFlags.TorqueOn);
        message.Referenced = sample.Has(TraceFlags.Referenced);
        message.ClearPosition();
        if (double.IsFinite(sample.Position))
        {
            message.Position = sample.Position;
        }

        message.ClearFollowingError();
        if (float.IsFinite(sample.FollowingError))
        {
            message.FollowingError = sample.FollowingError;
        }
    }

    public static Api.V1.TraceGap ToMessage(in TraceGap gap, int axis) => new()
    {
        Axis = (uint)axis, FromUs = Microseconds(gap.From), ToUs = Microseconds(gap.To), Cycles = gap.Cycles, Cause = (GapCause)gap.Cause,
    };

    public static TraceAxis ToMessage(RecordedAxis axis)
    {
        var message = new TraceAxis { Name = axis.Name, Unit = axis.Unit, CycleMs = axis.Cycle.TotalMilliseconds };
        message.Inputs.AddRange(axis.Inputs);
        return message;
    }

    public static TraceBegin Begin(IEnumerable<RecordedAxis> axes, DateTimeOffset utc, TimeSpan monotonic)
    {
        var begin = new TraceBegin { Time = Timestamp.FromDateTimeOffset(utc), MonotonicUs = Microseconds(monotonic) };
        begin.Axes.AddRange(axes.Select(ToMessage));
        return begin;
    }

    public static long Microseconds(TimeSpan time) => time.Ticks / TimeSpan.TicksPerMicrosecond;
}
