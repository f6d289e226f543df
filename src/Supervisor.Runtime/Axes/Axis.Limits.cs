using Supervisor.Motion.Stopping;
using Supervisor.Records.Faults;

namespace Supervisor.Runtime.Axes;

/// <content>Soft limits as measured: targets are checked before they are given, but a drive may go elsewhere.</content>
public sealed partial class Axis
{
    private double _outsideAtStart;

    /// <summary>How far outside its limits the axis is, unit; 0 inside, and where there are none.</summary>
    private double Outside => _scale.Period > 0 ? 0 : Math.Max(0, Math.Max(
        Position - (Definition.Limits.UpperPosition ?? double.PositiveInfinity),
        (Definition.Limits.LowerPosition ?? double.NegativeInfinity) - Position));

    /// <summary>
    /// A fault once the axis is farther outside than its window and the way it needs to stop; where a move began outside, than it was then.
    /// </summary>
    private void SuperviseLimits(TimeSpan now)
    {
        if (!CountsAsReferenced || _node is not (AxisNode.Running or AxisNode.Jogging or AxisNode.Halting))
        {
            return;
        }

        var tolerated = _outsideAtStart + Definition.InPosition.Window + StopCalculation.StoppingDistance(_velocity, Definition.Limits.Deceleration);
        if (Outside > tolerated)
        {
            SeeFault(FaultCode.SoftLimitPassed, 0, now);
        }
    }
}
