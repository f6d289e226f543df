using Supervisor.Records.Faults;
using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Zones;

/// <summary>
/// The zones of one port's axes, looked at before every transaction while one of them moves. The coordinator accepts only what stays
/// clear; this catches what then goes otherwise: an axis pushed, a drive that goes astray, one that no longer tells where it is.
/// </summary>
internal sealed class ZoneWatch
{
    private readonly MachineBoard _board;
    private readonly Watched[] _zones;

    internal ZoneWatch(MachineBoard board, IReadOnlyList<Axis> axes)
    {
        _board = board;
        _zones = [.. board.Zones.All
            .Select(zone => new Watched(zone, axes.FirstOrDefault(axis => axis.Index == zone.First), axes.FirstOrDefault(axis => axis.Index == zone.Second)))
            .Where(watched => watched.First is not null || watched.Second is not null)];
    }

    /// <summary>Stops what moves in a zone that is not clear, here or as another port has found.</summary>
    internal void Look(TimeSpan now)
    {
        foreach (var watched in _zones)
        {
            if (IsInMotion(watched.First) || IsInMotion(watched.Second))
            {
                Judge(watched, now);
            }

            var trips = _board.Zones.TripCount(watched.Zone.Index);
            if (trips != watched.TripsSeen)
            {
                watched.TripsSeen = trips;
                var cause = _board.Zones.Cause(watched.Zone.Index);
                watched.First?.LeaveZone(watched.Zone, cause, now);
                watched.Second?.LeaveZone(watched.Zone, cause, now);
            }
        }
    }

    private void Judge(Watched watched, TimeSpan now)
    {
        var zone = watched.Zone;
        var first = ExtentOf(zone.First, now);
        var second = ExtentOf(zone.Second, now);
        if (zone.IsClear(first, second, Tolerance(zone.First), Tolerance(zone.Second)))
        {
            watched.First?.EndExcuse(zone);
            watched.Second?.EndExcuse(zone);
        }
        else if (Concerns(watched.First, zone) || Concerns(watched.Second, zone))
        {
            _board.Zones.Trip(zone.Index, first.IsKnown && second.IsKnown ? FaultCode.ZoneEntered : FaultCode.ZoneUnproven);
        }
    }

    private static bool IsInMotion(Axis? axis) => axis is not null && axis.IsInMotion;

    private static bool Concerns(Axis? axis, Zone zone) => axis is not null && axis.IsInMotion && !axis.IsExcusedFrom(zone);

    /// <summary>
    /// As its port last told it; an axis that is silent, or knows no zero, may be anywhere. One that is left unasked on purpose has told the whole way that
    /// its drive was given, and what could meet it has no torque.
    /// </summary>
    private Extent ExtentOf(int axis, TimeSpan now)
    {
        AxisSnapshot snapshot = _board.Axes[axis].Read();
        return snapshot.Online && snapshot.Referenced && now - (snapshot.At > snapshot.UnaskedUntil ? snapshot.At : snapshot.UnaskedUntil) <= Clearance.Oldest(_board, axis)
            ? new Extent(snapshot.ReachLower, snapshot.ReachUpper, snapshot.Moves)
            : Extent.Anywhere(snapshot.Moves || !snapshot.Online);
    }

    private double Tolerance(int axis) => Axis.StandstillWindowOf(_board.Machine.Axes[axis]);

    private sealed class Watched(Zone zone, Axis? first, Axis? second)
    {
        public Zone Zone { get; } = zone;

        public Axis? First { get; } = first;

        public Axis? Second { get; } = second;

        public int TripsSeen { get; set; }
    }
}
