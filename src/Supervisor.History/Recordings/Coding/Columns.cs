using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Records.Tracing;

namespace Supervisor.History.Recordings.Coding;

/// <summary>The columns of a chunk. Numbers are stored: append, never renumber.</summary>
internal static class Columns
{
    public static readonly WholeColumn[] Whole =
    [
        new(1, s => s.At.Ticks / TimeSpan.TicksPerMicrosecond, (ref s, v) => s.At = TimeSpan.FromTicks(v * TimeSpan.TicksPerMicrosecond)),
        new(2, s => s.Cycle, (ref s, v) => s.Cycle = (uint)v),
        new(3, s => (ushort)s.Fault, (ref s, v) => s.Fault = (FaultCode)(ushort)v),
        new(4, s => (byte)s.State, (ref s, v) => s.State = (AxisState)(byte)v),
        new(5, s => (byte)s.Detail, (ref s, v) => s.Detail = (AxisDetail)(byte)v),
        new(6, s => (byte)s.Flags, (ref s, v) => s.Flags = (TraceFlags)(byte)v),
        new(7, s => (byte)s.Result, (ref s, v) => s.Result = (ExchangeResult)(byte)v),
        new(8, s => s.Misses, (ref s, v) => s.Misses = (byte)v),
        new(9, s => s.ReplyTime, (ref s, v) => s.ReplyTime = (ushort)v),
        new(10, s => s.Inputs, (ref s, v) => s.Inputs = (uint)v),
    ];

    public static readonly RealValueColumn[] Real =
    [
        new(32, false, false, s => s.CommandedPosition, (ref s, v) => s.CommandedPosition = v),
        new(33, false, false, s => s.Position, (ref s, v) => s.Position = v),
        new(34, false, true, s => s.Velocity, (ref s, v) => s.Velocity = (float)v),
        new(35, true, true, s => s.Torque, (ref s, v) => s.Torque = (float)v),
        new(36, false, true, s => s.FollowingError, (ref s, v) => s.FollowingError = (float)v),
    ];
}

internal delegate void SetValue<T>(ref TraceSample sample, T value);

internal sealed record WholeColumn(byte Number, Func<TraceSample, long> Get, SetValue<long> Set);

internal sealed record RealValueColumn(byte Number, bool IsTorque, bool IsFloat, Func<TraceSample, double> Get, SetValue<double> Set);
