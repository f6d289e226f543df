using Supervisor.Records.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// What is shown of an axis agrees with its plant: Disabled without torque, Ready under torque and still; a fault's stop over and without torque, but
/// for a load that is shown as held, which has torque and stands.
/// </summary>
public sealed class StateTruth : Checker
{
    private static readonly TimeSpan Settling = TimeSpan.FromMilliseconds(250);
    private readonly TimeSpan?[] _wrongSince;

    public StateTruth(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _wrongSince = new TimeSpan?[world.Machine.Axes.Count];
    }

    /// <summary>A planted bug: every axis is shown Ready.</summary>
    public bool ShowsAlwaysReady { get; set; }

    /// <inheritdoc/>
    public override void OnKill() => Array.Clear(_wrongSince);

    /// <inheritdoc/>
    public override void OnStep()
    {
        for (var axis = 0; axis < _wrongSince.Length; axis++)
        {
            var snapshot = World.Snapshot(axis);
            var (state, detail) = ShowsAlwaysReady ? (AxisState.Ready, AxisDetail.None) : (snapshot.State, snapshot.Detail);
            if (!snapshot.Online || Wrong(axis, state, detail) is not { } wrong)
            {
                _wrongSince[axis] = null;
                continue;
            }

            Looks++;
            _wrongSince[axis] ??= Now;
            if (Now - _wrongSince[axis] > Allowed(axis, _wrongSince[axis]!.Value))
            {
                Find(axis, $"shown as {state} ({detail}) for {(Now - _wrongSince[axis]!.Value).TotalMilliseconds:0} ms while its plant {wrong}");
                _wrongSince[axis] = null;
            }
        }
    }

    private TimeSpan Allowed(int axis, TimeSpan since)
    {
        var definition = World.Machine.Axes[axis];
        var line = World.Lines[definition.Port];
        var allowed = line.Reaction + Settling + (line.IsTroubled ? definition.CommunicationTimeout : TimeSpan.Zero);
        if (World.SilentAt(axis) < since)
        {
            return allowed;
        }

        // Nothing is known of a silent drive before its silence is a lost link: three cycles, or half its time-out. It starts anew in less, but
        // may be befallen by a second dip while it starts.
        var cycles = World.Machine.Ports[definition.Port].Cycle * 3;
        var half = definition.CommunicationTimeout / 2;
        return allowed + (cycles > half ? cycles : half);
    }

    private string? Wrong(int axis, AxisState state, AxisDetail detail)
    {
        var plant = World.Plant.Drives[axis].Plant;
        var speed = Math.Abs(plant.Velocity);
        var isStill = speed <= World.Machine.Axes[axis].Limits.Velocity * 0.02;
        var passes = detail is AxisDetail.Connecting or AxisDetail.Energising or AxisDetail.Stopping or AxisDetail.Deenergising;
        return state switch
        {
            _ when passes => null,

            // Without torque a mass runs out; only what still has torque must stand.
            AxisState.Disabled when plant.Powered => "has torque",
            AxisState.Faulted when detail == AxisDetail.HoldingLoad && !plant.Powered => "has no torque",
            AxisState.Faulted when detail == AxisDetail.HoldingLoad && !isStill => $"moves at {speed:0.###}",
            AxisState.Faulted when detail != AxisDetail.HoldingLoad && plant.Powered => "has torque",
            AxisState.Ready when !plant.Powered => "has no torque",
            AxisState.Ready when !isStill => $"moves at {speed:0.###}",
            _ => null,
        };
    }
}
