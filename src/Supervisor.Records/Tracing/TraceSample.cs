using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Records.Tracing;

/// <summary>
/// One axis in one cycle, as its port saw it. Positions in the axis's unit (turns of an endless axis are not taken off), torque in percent of rated. 56 bytes.
/// </summary>
public record struct TraceSample
{
    /// <summary>What one step of <see cref="ReplyTime"/> is worth.</summary>
    public static readonly TimeSpan ReplyTimeStep = TimeSpan.FromMicroseconds(10);

    /// <summary>Monotonic time since boot at which the reply was complete, or was given up.</summary>
    public TimeSpan At;

    /// <summary>The target that was commanded last: a drive in profile position mode runs towards it by itself.</summary>
    public double CommandedPosition;

    /// <summary>NaN while the drive does not know it.</summary>
    public double Position;

    /// <summary>Unit/s.</summary>
    public float Velocity;
    public float Torque;

    /// <summary>
    /// The drive's own, with its sign; where it tells none, how far the axis is behind the profile computed here, while that is watched; else NaN. Unit.
    /// </summary>
    public float FollowingError;

    /// <summary>Bit i: the i-th input the drive definition declares.</summary>
    public uint Inputs;

    /// <summary>
    /// Number of the port's cycle, 1 and up; cycles that were skipped, or passed while the device was away, are counted. An axis has a sample in every cycle, so
    /// that a step of more than one is a gap.
    /// </summary>
    public uint Cycle;

    /// <summary>Index of the axis in the machine file.</summary>
    public short Axis;
    public FaultCode Fault;

    /// <summary>Time from the request's first byte to the reply's last, in steps of 10 µs.</summary>
    public ushort ReplyTime;
    public AxisState State;
    public AxisDetail Detail;
    public TraceFlags Flags;

    /// <summary>How the exchange went. Unless it is good the values are the last good ones.</summary>
    public ExchangeResult Result;

    /// <summary>Requests to it in this cycle that were not answered so far, at most 255.</summary>
    public byte Misses;

    /// <summary>True when the values are of this cycle.</summary>
    public readonly bool Fresh => Result == ExchangeResult.Good;

    /// <summary>True when all of these hold.</summary>
    public readonly bool Has(TraceFlags flags) => (Flags & flags) == flags;
}
