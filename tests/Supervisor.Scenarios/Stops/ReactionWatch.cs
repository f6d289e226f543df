using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stops;

/// <summary>Watches how axes in motion come to rest, by what their plants do and by nothing the supervisor says.</summary>
internal sealed class ReactionWatch
{
    private readonly SimulatedWorld _world;
    private readonly Watched[] _axes;

    /// <param name="world">The machine.</param>
    /// <param name="axes">Axes with the command that each carries out.</param>
    public ReactionWatch(SimulatedWorld world, params (string Name, ulong Command)[] axes)
    {
        _world = world;
        _axes = [.. axes.Select(axis => new Watched(axis.Name, axis.Command, Speed(axis.Name)))];
        Assert.All(_axes, axis => Assert.True(world.Drive(axis.Name).Plant.Powered, $"{axis.Name} has no torque to begin with"));
    }

    /// <summary>Looks every millisecond until all that can happen has happened.</summary>
    public void Run(double seconds)
    {
        for (var i = 0; i < seconds * 1000; i++)
        {
            _world.Run(0.001);
            foreach (var axis in _axes.Where(axis => axis.SpeedWhenOff is null && !_world.Drive(axis.Name).Plant.Powered))
            {
                axis.SpeedWhenOff = Speed(axis.Name);
            }
        }
    }

    /// <summary>How an axis came to rest.</summary>
    public StopReaction Of(string name)
    {
        var axis = _axes.Single(axis => axis.Name == name);
        Assert.True(Speed(name) < 1, $"{name} still moves with {Speed(name)}");
        return axis.SpeedWhenOff is { } speed
            ? (speed > axis.SpeedBefore / 2 && axis.SpeedBefore > 1 ? StopReaction.CutPower : StopReaction.QuickStopThenOff)
            : HasArrived(axis) ? StopReaction.None
            : StopReaction.StopAndHold;
    }

    // A contact move may end where it was sent and fail. Where a coordinator runs, it takes the reports.
    private bool HasArrived(Watched axis) =>
        _world.EndOf(axis.Command).Outcome is Outcome.Done or Outcome.None
        && Math.Abs(_world.Snapshot(axis.Name).Position - _world.Snapshot(axis.Name).Target) < 1;

    private double Speed(string name) => Math.Abs(_world.Drive(name).Plant.Velocity);

    private sealed class Watched(string name, ulong command, double speedBefore)
    {
        public string Name => name;

        public ulong Command => command;

        public double SpeedBefore => speedBefore;

        public double? SpeedWhenOff { get; set; }
    }
}
