using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// No reading is taken for another drive's, or for a newer one: what an axis shows right after an exchange is where its own drive counted
/// itself during that exchange, on whatever wire.
/// </summary>
public sealed class Readings : Checker
{
    private static readonly TimeSpan ZeroMoves = TimeSpan.FromMilliseconds(300);
    private readonly DriveWatch _drives;

    public Readings(StoryWorld world)
        : base(world)
    {
        _drives = new DriveWatch(world);
    }

    /// <summary>A planted bug: every axis is judged by its neighbour's drive.</summary>
    public bool MistakesDrives { get; set; }

    /// <inheritdoc/>
    public override void OnStep() => _drives.Look();

    /// <inheritdoc/>
    public override void OnAbsence() => _drives.Look();

    /// <inheritdoc/>
    public override void OnTransaction(int port)
    {
        for (var axis = 0; axis < World.Machine.Axes.Count; axis++)
        {
            var definition = World.Machine.Axes[axis];
            var snapshot = World.Snapshot(axis);
            if (definition.Port != port || snapshot.At != Now)
            {
                continue;
            }

            // Advanced first: homing may have found its zero since the frame was heard.
            var drive = World.Drive(MistakesDrives ? (axis + 1) % World.Machine.Axes.Count : axis);
            if (_drives.ZeroMovedWithin(axis, ZeroMoves))
            {
                continue;
            }

            Looks++;
            var told = drive.CountedPosition / definition.CountsPerUnit * (definition.Inverted ? -1 : 1);
            var off = _drives.Distance(axis, snapshot.Position, told);
            var allowed = _drives.Travelled(axis, _drives.ExchangeTime(axis)) + (3 / definition.CountsPerUnit);
            if (off > allowed)
            {
                Find(axis, $"shows {snapshot.Position:0.####} {definition.Unit} while its drive counts {told:0.####}; {allowed:0.####} may have passed in the exchange");
            }
        }
    }
}
