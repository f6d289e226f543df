using Supervisor.Machine;
using Supervisor.Machine.Api;
using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// Nothing gets torque and nothing begins to move unless somebody asked for it after the last reset of a stop or a fault of that axis, or
/// the machine file has its recovery do so: closing, resetting, plugging in and starting begin nothing.
/// </summary>
public sealed class Commanded : Checker
{
    private static readonly TimeSpan Settling = TimeSpan.FromMilliseconds(500);
    private static readonly TimeSpan Untroubled = TimeSpan.FromSeconds(1);
    private readonly Watched[] _axes;

    public Commanded(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _axes = [.. world.Machine.Axes.Select(_ => new Watched())];
    }

    /// <summary>A planted bug: every command was forgotten.</summary>
    public bool ForgetsCommands { get; set; }

    /// <inheritdoc/>
    public override void OnStart()
    {
        foreach (var axis in _axes)
        {
            (axis.Standing, axis.IsRecovering, axis.RecoveredAt) = (0, false, TimeSpan.Zero);
        }
    }

    /// <inheritdoc/>
    public override void OnRecovery(in RecoveryNote note)
    {
        var watched = _axes[note.Axis];
        watched.IsRecovering = note.Change is RecoveryChange.Begun or RecoveryChange.AttemptFailed;
        watched.RecoveredAt = Now;
    }

    /// <inheritdoc/>
    public override void OnRow(int axis, in AxisRow row)
    {
        if ((row.Effects & AxisEffects.Unlatch) != 0)
        {
            _axes[axis].ResetAt = Now;
        }

        if (row.On is AxisEvent.MoveGiven or AxisEvent.JogGiven or AxisEvent.HomeGiven or AxisEvent.EnableGiven)
        {
            _axes[axis].Presses = row.On == AxisEvent.MoveGiven && World.Open.Any(given => given.Command is ContactCommand && given.Concerns(axis));
        }
    }

    /// <inheritdoc/>
    public override void OnStep()
    {
        var board = World.Supervisor!.Board;
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            var standing = board.Latch.Standing() & (board.Causes.Mask(axis, 0) | board.Causes.Mask(axis, 1));
            if ((_axes[axis].Standing & ~standing) != 0)
            {
                _axes[axis].ResetAt = Now;
            }

            _axes[axis].Standing = standing;
            Look(axis, _axes[axis]);
        }
    }

    /// <inheritdoc/>
    public override void OnAbsence()
    {
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            Look(axis, _axes[axis]);
        }
    }

    private void Look(int axis, Watched watched)
    {
        var plant = World.Plant.Drives[axis].Plant;
        if (plant.Powered && !watched.WasPowered)
        {
            Looks++;
            if (!WasAsked(axis, watched, given => given.Energises))
            {
                Find(axis, $"got torque, and nobody asked for it since {watched.ResetAt.TotalSeconds:0.000} s");
            }
        }

        watched.WasPowered = plant.Powered;
        LookAtMotion(axis, watched);
    }

    private void LookAtMotion(int axis, Watched watched)
    {
        var plant = World.Plant.Drives[axis].Plant;
        var speed = Math.Abs(plant.Velocity);
        var top = World.Machine.Axes[axis].Limits.Velocity;
        if (plant.Jammed)
        {
            // What was held against its drive's will goes on when it is let go.
            watched.StillSince = null;
            watched.JammedAt = Now;
        }
        else if (watched.Presses && Math.Abs(World.Plant.Drives[axis].FollowingError) > 0.5)
        {
            // Its drive is ahead of what it presses with: what yields, or a stop that gives the torque back, lets it make that way good.
            watched.StillSince = null;
        }
        else if (!plant.Powered || speed < top * 0.005)
        {
            watched.StillSince = plant.Powered ? watched.StillSince ?? Now : null;
        }
        else if (speed > top * 0.03 && watched.StillSince is { } since)
        {
            watched.StillSince = null;
            Looks++;
            if (Now - since > TimeSpan.FromMilliseconds(100) && Now - watched.JammedAt > Untroubled && !WasAsked(axis, watched, given => given.Moves))
            {
                Find(axis, $"began to move, and nobody asked for it since {watched.ResetAt.TotalSeconds:0.000} s");
            }
        }
    }

    /// <summary>An open command of that kind given after the last reset; one that has just ended may still be on the wire.</summary>
    private bool WasAsked(int axis, Watched watched, Func<GivenCommand, bool> kind)
    {
        if (ForgetsCommands)
        {
            return false;
        }

        var line = World.Lines[World.Machine.Axes[axis].Port];
        var late = line.Reaction + Settling + (line.IsTroubled ? World.Machine.Axes[axis].CommunicationTimeout : TimeSpan.Zero);

        // A reset and what follows it may be given together: they are taken in order.
        var after = watched.ResetAt - TimeSpan.FromMilliseconds(20);
        return watched.IsRecovering || Now - watched.RecoveredAt <= late
            || World.Open.Any(given => kind(given) && given.Concerns(axis) && given.At >= after)
            || World.Orphans.Any(given => kind(given) && given.Concerns(axis) && given.At >= after && Now - given.EndedAt <= World.Machine.Axes[axis].CommunicationTimeout + Settling + line.Reaction)
            || World.EndedOfLate.Any(given => kind(given) && given.Concerns(axis) && given.At >= after && Now - given.EndedAt <= late);
    }

    private sealed class Watched
    {
        public ulong Standing { get; set; }

        public TimeSpan ResetAt { get; set; }

        public bool IsRecovering { get; set; }

        public TimeSpan RecoveredAt { get; set; }

        public bool WasPowered { get; set; }

        public bool Presses { get; set; }

        public TimeSpan? StillSince { get; set; }

        public TimeSpan JammedAt { get; set; } = TimeSpan.MinValue / 2;
    }
}
