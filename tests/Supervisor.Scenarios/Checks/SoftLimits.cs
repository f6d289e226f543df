using Supervisor.Motion.Stopping;
using Supervisor.Records.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// An axis that knows its zero passes no position limit under torque by more than its stopping distance. Homing looks for switches beyond
/// them, and what coasts without torque is nobody's to stop.
/// </summary>
public sealed class SoftLimits : Checker
{
    private readonly double[] _coastedBeyond;

    public SoftLimits(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _coastedBeyond = new double[world.Machine.Axes.Count];
    }

    /// <summary>A planted bug: limits nobody told the supervisor of, this share nearer to the middle.</summary>
    public double Narrower { get; set; }

    /// <inheritdoc/>
    public override void OnStep()
    {
        for (var axis = 0; axis < _coastedBeyond.Length; axis++)
        {
            var definition = World.Machine.Axes[axis];
            if (definition.EndlessPeriod is not null || Beyond(axis) is not > 0 and var inside)
            {
                _coastedBeyond[axis] = 0;
                continue;
            }

            var beyond = Beyond(axis);
            var snapshot = World.Snapshot(axis);
            if (!World.Plant.Drives[axis].Plant.Powered || !snapshot.Referenced || snapshot.State is not (AxisState.Ready or AxisState.Moving))
            {
                _coastedBeyond[axis] = beyond;
                continue;
            }

            Looks++;
            var allowed = _coastedBeyond[axis] + StopCalculation.StoppingDistance(definition.Limits.Velocity, definition.Limits.Deceleration);
            if (beyond > allowed)
            {
                Find(axis, $"is {beyond:0.###} {definition.Unit} beyond its limits; {allowed:0.###} is its stopping distance and what it coasted");
            }
        }
    }

    private double Beyond(int axis)
    {
        var limits = World.Machine.Axes[axis].Limits;
        var position = World.Plant.Drives[axis].Plant.Position;
        var margin = limits is { LowerPosition: { } a, UpperPosition: { } b } ? (b - a) * Narrower : 0;
        return Math.Max(
            limits.LowerPosition is { } lower ? lower + margin - position : double.NegativeInfinity,
            limits.UpperPosition is { } upper ? position - (upper - margin) : double.NegativeInfinity);
    }
}
