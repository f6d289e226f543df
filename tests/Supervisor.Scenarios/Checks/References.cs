using Supervisor.Configuration.Machines;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// An axis shown as referenced is where it says, measured on the machine itself and not by its drive: a wrong zero is the worst that can
/// be believed. Without torque a restart of the drive may take until its next uptime is read; with torque nothing is allowed.
/// </summary>
public sealed class References : Checker
{
    private static readonly TimeSpan UptimeIsRead = TimeSpan.FromSeconds(1.2);
    private readonly DriveWatch _drives;

    public References(StoryWorld world)
        : base(world)
    {
        _drives = new DriveWatch(world);
    }

    /// <summary>A planted bug: the machine's marks are elsewhere, by this share of a unit.</summary>
    public double Misplaced { get; set; }

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
            if (definition.Port != port || definition.Reference == ReferenceKind.None || definition.Homing is not { } homing)
            {
                continue;
            }

            var snapshot = World.Snapshot(axis);
            if (!snapshot.Online || !snapshot.Referenced || snapshot.At != Now)
            {
                continue;
            }

            var plant = World.Drive(axis).Plant;
            var line = World.Lines[port];
            var patience = line.Reaction + UptimeIsRead + (line.IsTroubled ? TimeSpan.FromSeconds(2) : TimeSpan.Zero);
            if (!plant.Powered && _drives.ZeroMovedWithin(axis, patience))
            {
                continue;
            }

            Looks++;
            var off = _drives.Distance(axis, snapshot.Position, plant.Position + Misplaced);

            // The search passes its edge in steps of a millisecond.
            var allowed = _drives.Travelled(axis, _drives.ExchangeTime(axis)) + (homing.Slow * 0.002) + (4 / definition.CountsPerUnit);
            if (off > allowed)
            {
                Find(axis, $"is shown at {snapshot.Position:0.####} {definition.Unit} and as referenced, and stands at {plant.Position + Misplaced:0.####}{(plant.Powered ? " under torque" : "")}; its drive's zero moved at {_drives.ZeroMovedAt(axis).TotalSeconds:0.000} s");
            }
        }
    }
}
