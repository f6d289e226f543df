using Supervisor.Machine.Commands;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Zones;

namespace Supervisor.Machine.Zones;

/// <summary>
/// Where every axis is or may come to be by what it was told, and whether a motion leaves the zones clear. A span grows by every motion
/// that is begun and shrinks only at proven rest, so that two motions begun in the same instant see each other.
/// </summary>
/// <remarks>It protects the machine, not people. What then goes otherwise than computed here, each port's watch stops.</remarks>
internal sealed class ZoneDesk
{
    private readonly MachineView _view;
    private readonly IReadOnlyList<Zone> _zones;
    private readonly Extent[] _spans;
    private readonly Extent[] _ahead;
    private readonly double[] _fastest;
    private readonly CommandPart?[] _parts;
    private readonly SnapshotCell<Extent>[] _told;
    private readonly ZoneTexts _texts;

    public ZoneDesk(MachineView view)
    {
        _view = view;
        _zones = view.Board.Zones.All;
        _spans = new Extent[view.Axes.Length];
        _ahead = new Extent[view.Axes.Length];
        _fastest = new double[view.Axes.Length];
        _parts = new CommandPart?[view.Axes.Length];
        _told = [.. view.Axes.Select(_ => new SnapshotCell<Extent>())];
        _texts = new ZoneTexts(view.Board.Machine);
        Array.Fill(_spans, Extent.Anywhere(moves: true));
        for (var axis = 0; axis < _told.Length; axis++)
        {
            _told[axis].Write(_spans[axis]);
        }
    }

    /// <summary>Where an axis is or may come to be. Any thread.</summary>
    public Extent Told(int axis) => _told[axis].Read();

    /// <summary>Takes in where the axes have come to. <paramref name="inHand"/>: the command each axis has.</summary>
    public void Follow(RunningCommand?[] inHand)
    {
        for (var axis = 0; axis < _spans.Length && _zones.Count > 0; axis++)
        {
            ref readonly var now = ref _view[axis];
            var before = _spans[axis];
            if (!_view.IsOnline(axis) || !now.Referenced)
            {
                _spans[axis] = Extent.Anywhere(!_view.IsOnline(axis) || now.Moves || inHand[axis] is not null);
                _fastest[axis] = _view.Axes[axis].Limits.Velocity;
            }
            else if (IsProvenAtRest(now, inHand[axis]?.PartOf(axis)!.Command.Kind))
            {
                _spans[axis] = new Extent(now.ReachLower, now.ReachUpper, Moves: false);
                _fastest[axis] = 0;
            }
            else
            {
                _spans[axis] = before.With(new Extent(now.ReachLower, now.ReachUpper, Moves: true));
                _fastest[axis] = Math.Max(_fastest[axis], Math.Abs(now.Velocity));
            }

            if (_spans[axis] != before)
            {
                _told[axis].Write(_spans[axis]);
            }
        }
    }

    /// <summary>Nothing was told to it that moves it, its port says so too, and it is on no way to rest.</summary>
    private static bool IsProvenAtRest(in AxisSnapshot now, AxisCommandKind? inHand) =>
        inHand is null or AxisCommandKind.Enable && StandsStill(now) && now.Detail is not (AxisDetail.Stopping or AxisDetail.Deenergising);

    /// <summary>One that holds its place may show some noise of its velocity; its port watches its standstill.</summary>
    private static bool StandsStill(in AxisSnapshot now) => !now.Moves && (now.AtRest || now.State == AxisState.Ready);

    /// <summary>Judges the motions of one step of a command all together: an objection, or what each need not be watched for is written into it.</summary>
    public Objection? Judge(IReadOnlyList<CommandPart> parts, int step, RunningCommand?[] inHand)
    {
        if (_zones.Count == 0)
        {
            return null;
        }

        Array.Clear(_parts);
        for (var axis = 0; axis < _spans.Length; axis++)
        {
            _ahead[axis] = _spans[axis];
        }

        for (var i = 0; i < parts.Count; i++)
        {
            if (parts[i].Step == step && MovesAway(parts[i]))
            {
                // It may have waited since it was judged before.
                parts[i].Command = parts[i].Command with { ExcusedZones = 0, Until = double.NaN };
                _parts[parts[i].Axis] = parts[i];
                _ahead[parts[i].Axis] = Ahead(parts[i]);
            }
        }

        // What is known to be in the way is told before what a person may vouch for.
        Objection? first = null;
        foreach (var zone in _zones)
        {
            if ((_parts[zone.First] is not null || _parts[zone.Second] is not null) && Judge(zone, inHand) is { } objection
                && (first is null || first.Reason == Refusal.NeedsConfirmation))
            {
                first = objection.Reason == Refusal.NeedsConfirmation ? first ?? objection : objection;
            }
        }

        return first;
    }

    /// <summary>A motion is given to its axis: from now on it may come to be anywhere on its way.</summary>
    public void Take(CommandPart part)
    {
        if (_zones.Count > 0 && MovesAway(part))
        {
            _spans[part.Axis] = _spans[part.Axis].With(Ahead(part));
            _fastest[part.Axis] = Math.Max(_fastest[part.Axis], part.Command.Velocity);
            _told[part.Axis].Write(_spans[part.Axis]);
        }
    }

    /// <summary>A proof of a brake pushes where the axis stands, and what moves then is a fault of its own.</summary>
    private static bool MovesAway(CommandPart part) => CommandDesk.IsMotion(part.Command.Kind) && part.Command.Kind != AxisCommandKind.ProveBrake;

    private Extent Ahead(CommandPart part) =>
        WayAhead.Of(_view.Axes[part.Axis], part.Command, _spans[part.Axis], _view[part.Axis].DistanceFrom, _fastest[part.Axis]);

    private Objection? Judge(Zone zone, RunningCommand?[] inHand)
    {
        if (IsClear(zone))
        {
            return null;
        }

        foreach (var axis in (ReadOnlySpan<int>)[zone.First, zone.Second])
        {
            if (_parts[axis] is not { } part || Excuses(zone, part, inHand))
            {
                continue;
            }

            if (part.Command.Kind == AxisCommandKind.Jog && EndAtBorder(zone, part))
            {
                continue;
            }

            return Object(zone, part, inHand);
        }

        return null;
    }

    private bool IsClear(Zone zone) => zone.IsClear(_ahead[zone.First], _ahead[zone.Second], Window(zone.First), Window(zone.Second));

    private double Window(int axis) => _view.Axes[axis].InPosition.Window;

    /// <summary>Motions that a zone which is not clear does not forbid: those that only lead apart, and those a person looks at.</summary>
    private bool Excuses(Zone zone, CommandPart part, RunningCommand?[] inHand)
    {
        var axis = part.Axis;
        var other = zone.Other(axis);
        var stands = Stands(other, inHand);
        var isUnproven = !_spans[axis].IsKnown || !_spans[other].IsKnown;
        var excused = LeadsAway(zone, part) || part.Command.Kind switch
        {
            AxisCommandKind.Home => stands && (StaysClear(zone, axis) || (part.Command.Confirmed && ZoneTexts.MayVouch(zone, axis, _spans[other]))),
            AxisCommandKind.Jog => stands && ((isUnproven && part.Command.Confirmed) || zone.AreBothInside(_spans[zone.First], _spans[zone.Second])),
            _ => false,
        };
        if (excused)
        {
            part.Command = part.Command with { ExcusedZones = part.Command.ExcusedZones | (1UL << zone.Index) };
        }

        return excused;
    }

    /// <summary>Nothing of the way is nearer to the other axis than where this one may be already.</summary>
    private bool LeadsAway(Zone zone, CommandPart part)
    {
        var (span, ahead) = (_spans[part.Axis], _ahead[part.Axis]);
        return part.Command.Kind switch
        {
            AxisCommandKind.Home => false,
            AxisCommandKind.Jog when !span.IsKnown => zone.LeadsAway(part.Axis, Math.Sign(part.Command.Target)),
            _ => span.IsKnown && ((zone.LeadsAway(part.Axis, -1) && ahead.Upper <= span.Upper) || (zone.LeadsAway(part.Axis, 1) && ahead.Lower >= span.Lower)),
        };
    }

    /// <summary>A search from a known place with a stated farthest way that does not come into the zone; what stops it there is its distance limit.</summary>
    private bool StaysClear(Zone zone, int axis)
    {
        if (_view.Axes[axis].Homing is not { DistanceLimit: { } limit } homing || !_spans[axis].IsKnown)
        {
            return false;
        }

        var definition = _view.Axes[axis];
        var farthest = limit + Runtime.Axes.Axis.StandstillWindowOf(definition)
            + (homing.Fast * _view.Board.Machine.Ports[definition.Port].Cycle.TotalSeconds * 2)
            + Motion.Stopping.StopCalculation.StoppingDistance(homing.Fast, definition.Limits.Deceleration);
        var way = new Extent(_spans[axis].Lower - farthest, _spans[axis].Upper + farthest, Moves: true);
        var (first, second) = axis == zone.First ? (way, _ahead[zone.Second]) : (_ahead[zone.First], way);
        return zone.IsClear(first, second, Window(zone.First), Window(zone.Second));
    }

    /// <summary>A jog ends where the zone begins.</summary>
    private bool EndAtBorder(Zone zone, CommandPart part)
    {
        var (axis, direction) = (part.Axis, Math.Sign(part.Command.Target));
        var span = _spans[axis];
        if (!span.IsKnown || !_spans[zone.Other(axis)].IsKnown || _view.Axes[axis].EndlessPeriod is not null)
        {
            return false;
        }

        var from = direction > 0 ? span.Upper : span.Lower;
        var way = zone.ClearWay(axis, from, direction, _spans[zone.Other(axis)]);
        if (!(way > Window(axis)) || double.IsInfinity(way))
        {
            return false;
        }

        part.Command = part.Command with { Until = from + (way * direction) };
        _ahead[axis] = Ahead(part);
        return IsClear(zone);
    }

    /// <summary>It does not move and was not told to; what does not answer a person has to look at.</summary>
    private bool Stands(int axis, RunningCommand?[] inHand) =>
        _parts[axis] is null && inHand[axis]?.PartOf(axis)!.Command.Kind is null or AxisCommandKind.Enable && (!_view.IsOnline(axis) || StandsStill(_view[axis]));

    private Objection Object(Zone zone, CommandPart part, RunningCommand?[] inHand)
    {
        var (axis, other) = (part.Axis, zone.Other(part.Axis));
        var why = _parts[other] is not null ? _texts.Together(zone, axis)
            : !_view.IsOnline(other) ? _texts.Silent(zone, axis)
            : !Stands(other, inHand) ? _texts.OtherMoves(zone, axis)
            : part.Command.Kind == AxisCommandKind.Home && ZoneTexts.MayVouch(zone, axis, _spans[other]) ? null
            : !_view[other].Referenced ? _texts.OtherIsLost(zone, axis)
            : zone.AreBothInside(_spans[zone.First], _spans[zone.Second]) ? _texts.BothInside(zone, axis)
            : _texts.Remedy(zone, axis, _spans[axis], _spans[other]);
        return why is not null
            ? new Objection(Refusal.ZoneNotClear, axis, why)
            : new Objection(Refusal.NeedsConfirmation, axis, _texts.Vouch(zone, axis, _view[other].Referenced));
    }
}
