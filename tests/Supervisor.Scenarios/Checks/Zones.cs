using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Stories;
using Supervisor.Simulation.Plant;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// Two axes of a zone never come where they would meet, measured on the plants: bodies a little smaller than their zones. What no command moves
/// (a mass without torque, one pushed through its brake) and what a person vouched for is not the supervisor's.
/// </summary>
public sealed class Zones : Checker
{
    private static readonly TimeSpan Memory = TimeSpan.FromSeconds(2);
    private readonly Watched[] _zones;
    private readonly TimeSpan[] _excusedAt;

    public Zones(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        // Where they stood when the story began was nobody's doing.
        _zones = [.. world.Machine.Zones.Select(zone => new Watched { Meets = Meets(zone) })];
        _excusedAt = new TimeSpan[world.Machine.Axes.Count];
        Array.Fill(_excusedAt, TimeSpan.MinValue / 2);
    }

    /// <inheritdoc/>
    public override void OnStep() => Look();

    /// <inheritdoc/>
    public override void OnAbsence() => Look();

    private void Look()
    {
        for (var axis = 0; axis < _excusedAt.Length && _zones.Length > 0; axis++)
        {
            _excusedAt[axis] = IsExcused(axis) ? Now : _excusedAt[axis];
        }

        for (var i = 0; i < _zones.Length; i++)
        {
            var zone = World.Machine.Zones[i];
            var meets = Meets(zone);
            if (meets && !_zones[i].Meets)
            {
                Looks++;
                Judge(i, zone);
            }

            Looks += Speed(zone.First) > 0 || Speed(zone.Second) > 0 ? 1 : 0;
            _zones[i].Meets = meets;
        }
    }

    private void Judge(int index, ZoneDefinition zone)
    {
        if (Now - _excusedAt[zone.First] >= Memory && Now - _excusedAt[zone.Second] >= Memory)
        {
            Find(zone.First, $"meets {World.Machine.Axes[zone.Second].Name} in {zone.Name}: it is at {Position(zone.First):0.##} with {Plant(zone.First).Velocity:0.##}, the other at {Position(zone.Second):0.##} with {Plant(zone.Second).Velocity:0.##}");
        }
    }

    private bool Meets(ZoneDefinition definition)
    {
        var (first, second) = (Position(definition.First), Position(definition.Second));
        var (spare, other) = (Spare(definition.First), Spare(definition.Second));
        return definition switch
        {
            NeverBothZone zone => IsWellInside(first, zone.FirstRange, spare) && IsWellInside(second, zone.SecondRange, other),
            MovesOnlyWhileZone zone => Speed(zone.First) > World.Machine.Axes[zone.First].Limits.Velocity * 0.05
                && (zone.Where is not { } where || IsWellInside(first, where, spare))
                && (second < zone.While.Lower - other || second > zone.While.Upper + other),
            DistanceZone zone => zone.SecondAt(second) - first < zone.Distance - spare - (other * Math.Abs(zone.Scale)),
            _ => false,
        };
    }

    private static bool IsWellInside(double position, ZoneRange range, double spare) => position > range.Lower + spare && position < range.Upper - spare;

    /// <summary>By what an axis may be off its place before that is a fault of its own, and a little.</summary>
    private double Spare(int axis) => Axis.StandstillWindowOf(World.Machine.Axes[axis]) + (World.Machine.Axes[axis].InPosition.Window * 2);

    /// <summary>Its motion is no command's, or a person's who looked: it does not know its place, is without torque, gives way (as a brake that is proven may), or was held and let go.</summary>
    private bool IsExcused(int axis)
    {
        var plant = Plant(axis);
        var axisNow = World.Supervisor?.Axes[axis];
        return (!plant.Powered && Math.Abs(plant.Velocity) > 0) || plant.Jammed || plant.BrakeWorn
            || axisNow?.Node is AxisNode.Searching or AxisNode.HomeStopping or AxisNode.HomeEnergising or AxisNode.HomeBrakeReleasing
                or AxisNode.ProvingBrake
            || (axisNow is not null && !World.Snapshot(axis).Referenced)
            || World.Plant.Drives[axis].IsSilent;
    }

    private AxisPlant Plant(int axis) => World.Plant.Drives[axis].Plant;

    private double Position(int axis) => Plant(axis).Position;

    private double Speed(int axis) => Plant(axis).Powered ? Math.Abs(Plant(axis).Velocity) : 0;

    private sealed class Watched
    {
        public bool Meets { get; set; }
    }
}
