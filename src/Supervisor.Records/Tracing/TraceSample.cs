using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Records.Tracing;

/// <summary>One axis in one cycle, as its port saw it. Positions in the axis's unit, torque in percent of rated.</summary>
public record struct TraceSample
{
    /// <summary>Monotonic time since boot at which the reply was complete.</summary>
    public TimeSpan At;

    /// <summary>Index of the axis in the machine file.</summary>
    public short Axis;
    public AxisState State;
    public AxisDetail Detail;

    /// <summary>False when the exchange of this cycle failed; the values are then the last good ones.</summary>
    public bool Fresh;
    public FaultCode Fault;
    public double CommandedPosition;
    public double Position;
    public double Velocity;
    public double Torque;
    public uint Inputs;
}
