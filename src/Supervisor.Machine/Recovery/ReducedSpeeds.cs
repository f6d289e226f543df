using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Recovery;

/// <summary>
/// Axes that did not follow and came back without a person: whatever is commanded, they go slowly until a move has brought them past that
/// place or to where the failed one was to go, or until a person resets or homes them.
/// </summary>
/// <remarks>
/// Whoever commands in production may be a program that asks for full speed as ever; so a move alone does not lift it. Homing keeps its own
/// speeds. Not a safety function.
/// </remarks>
internal sealed class ReducedSpeeds
{
    private const double Full = 100;
    private readonly MachineView _view;
    private readonly Held?[] _held;

    // Faces read these on threads of their own.
    private readonly double[] _percents;
    private readonly int[] _versions;
    private readonly SnapshotCell<ReducedSpeedNote>[] _notes;

    /// <param name="view">The axes.</param>
    /// <param name="remembered">What an earlier run left, in the machine file's order; it counts for axes that still may come back after a following error.</param>
    public ReducedSpeeds(MachineView view, IReadOnlyList<ReducedSpeedNote> remembered)
    {
        ArgumentOutOfRangeException.ThrowIfNotEqual(remembered.Count, view.Axes.Length, nameof(remembered));
        _view = view;
        _held = new Held?[view.Axes.Length];
        _percents = [.. view.Axes.Select(_ => Full)];
        _versions = new int[view.Axes.Length];
        _notes = [.. view.Axes.Select(_ => new SnapshotCell<ReducedSpeedNote>())];
        for (var axis = 0; axis < _held.Length; axis++)
        {
            var note = remembered[axis];
            if (note.Percent > 0 && ReducedSpeedNote.PercentOf(view.Axes[axis]) > 0)
            {
                Hold(axis, note.Percent, note.Place, note.Target);
            }
        }
    }

    /// <summary>Each axis's reduction, written when it changes; version 0 while it is as remembered. Any thread.</summary>
    public IReadOnlyList<SnapshotCell<ReducedSpeedNote>> Notes => _notes;

    /// <summary>True while an axis goes slowly.</summary>
    public bool IsReduced(int axis) => _held[axis] is not null;

    /// <summary>Where an axis that goes slowly did not follow, unit; null: it goes as fast as asked.</summary>
    public double? PlaceOf(int axis) => _held[axis]?.Place;

    /// <summary>Share of the speed asked for that an axis is given, above 0 to 1.</summary>
    public double Share(int axis) => Percent(axis) / Full;

    /// <summary>The same in percent; 100: not reduced. Any thread.</summary>
    public double Percent(int axis) => Volatile.Read(ref _percents[axis]);

    /// <param name="axis">Index of the axis.</param>
    /// <param name="percent">Percent of the speed asked for.</param>
    /// <param name="place">Where it did not follow, unit; one that is not known is never passed.</param>
    /// <param name="target">Where it was to go, unit.</param>
    public void Reduce(int axis, double percent, double place, double target)
    {
        Hold(axis, percent, place, target);
        Note(axis, new ReducedSpeedNote { Percent = percent, Place = place, Target = target });
    }

    public void Lift(int axis)
    {
        if (_held[axis] is null)
        {
            return;
        }

        _held[axis] = null;
        Volatile.Write(ref _percents[axis], Full);
        Note(axis, default);
    }

    public void Step()
    {
        for (var axis = 0; axis < _held.Length; axis++)
        {
            if (_held[axis] is { } held)
            {
                Follow(axis, held);
            }
        }
    }

    private void Hold(int axis, double percent, double place, double target)
    {
        _held[axis] = new Held(place, target);
        Volatile.Write(ref _percents[axis], percent);
    }

    private void Note(int axis, ReducedSpeedNote note)
    {
        note.Version = ++_versions[axis];
        _notes[axis].Write(note);
    }

    /// <summary>Sums up the way of each move, as the position of an endless axis does not tell how far it came.</summary>
    private void Follow(int axis, Held held)
    {
        ref readonly var now = ref _view[axis];
        var isMove = now.State == AxisState.Moving || (now.State == AxisState.Ready && held.Moves);
        held.Way = isMove ? held.Way + Way(axis, held.Last, now.Position) : 0;
        held.Last = now.Position;
        if (now.State == AxisState.Ready && held.Moves && HasPassed(axis, held))
        {
            Lift(axis);
        }
        else if (now.State != AxisState.Moving)
        {
            (held.From, held.Way) = (now.Position, 0);
        }

        held.Moves = now.State == AxisState.Moving;
    }

    private bool HasPassed(int axis, Held held)
    {
        var near = FollowingPlaces.Near(_view.Axes[axis]);
        var atTarget = Math.Abs(Way(axis, held.Last, held.Target)) <= _view.Axes[axis].InPosition.Window;
        var left = Way(axis, held.Place, held.Target);
        if (atTarget || !(Math.Abs(left) > near))
        {
            return atTarget;
        }

        var direction = Math.Sign(left);
        var ahead = direction * (held.Place - held.From);
        if (_view.Axes[axis].EndlessPeriod is { } period)
        {
            ahead = ((((ahead + near) % period) + period) % period) - near;
        }

        return ahead >= -near && direction * held.Way > ahead + near;
    }

    /// <summary>From one position to another, with its sign; the shorter way round on an endless axis.</summary>
    private double Way(int axis, double from, double to) =>
        _view.Axes[axis].EndlessPeriod is { } period ? Math.IEEERemainder(to - from, period) : to - from;

    private sealed class Held(double place, double target)
    {
        public double Place { get; } = place;

        public double Target { get; } = target;

        /// <summary>Where the axis last stood.</summary>
        public double From { get; set; } = place;

        public double Last { get; set; } = place;

        /// <summary>Way since then.</summary>
        public double Way { get; set; }

        public bool Moves { get; set; }
    }
}
