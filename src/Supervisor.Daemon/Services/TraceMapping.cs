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
        var message = new Api.V1.TraceSample
        {
            Axis = (uint)axis,
            AtUs = Microseconds(sample.At),
            Cycle = sample.Cycle,
            State = StatusMapping.ToMessage(sample.State),
            Detail = StatusMapping.ToMessage(sample.Detail),
            Fault = sample.Fault == FaultCode.None ? "" : ApiErrors.ReasonOf(sample.Fault),
            Result = (Api.V1.ExchangeResult)sample.Result,
            Misses = sample.Misses,
            ReplyMs = (sample.ReplyTime * Supervisor.Records.Tracing.TraceSample.ReplyTimeStep).TotalMilliseconds,
            CommandedPosition = sample.CommandedPosition,
            Velocity = sample.Velocity,
            Torque = sample.Torque,
            Inputs = sample.Inputs,
            Online = sample.Has(TraceFlags.Online),
            TorqueOn = sample.Has(TraceFlags.TorqueOn),
            Referenced = sample.Has(TraceFlags.Referenced),
        };
        if (double.IsFinite(sample.Position))
        {
            message.Position = sample.Position;
        }

        if (float.IsFinite(sample.FollowingError))
        {
            message.FollowingError = sample.FollowingError;
        }

        return message;
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
