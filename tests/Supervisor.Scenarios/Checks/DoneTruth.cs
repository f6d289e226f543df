using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>A command that is answered as done did what it says: the plant has its torque or has none, is where it was sent, stands, knows its zero.</summary>
public sealed class DoneTruth(StoryWorld world) : Checker(world)
{
    private static readonly TimeSpan CatchingUp = TimeSpan.FromSeconds(1);
    private readonly TimeSpan?[] _jammedAt = new TimeSpan?[world.Machine.Axes.Count];

    /// <summary>A planted bug: every answer is taken for done.</summary>
    public bool TakesAllForDone { get; set; }

    /// <inheritdoc/>
    public override void OnStep()
    {
        for (var axis = 0; axis < _jammedAt.Length; axis++)
        {
            _jammedAt[axis] = World.Plant.Drives[axis].Plant.Jammed ? Now : _jammedAt[axis];
        }
    }

    /// <inheritdoc/>
    public override void OnEnd(GivenCommand given)
    {
        if (given.Answer!.Outcome != Outcome.Done && !TakesAllForDone)
        {
            return;
        }

        foreach (var axis in given.Axes)
        {
            if (axis >= 0 && axis < World.Machine.Axes.Count && !HasOtherBusiness(axis, given))
            {
                Looks++;
                if (NotDone(given.Command, axis) is { } wrong)
                {
                    Find(axis, $"{given} is done, but the plant {wrong}");
                }
            }
        }
    }

    /// <summary>What came since may have changed it: another command, a stop, a fault, a drive that starts anew.</summary>
    private bool HasOtherBusiness(int axis, GivenCommand given)
    {
        var drive = World.Plant.Drives[axis];
        var board = World.Supervisor?.Board;
        return World.Open.Any(other => other != given && other.Concerns(axis))
            || drive.IsFaulted || drive.IsSilent || World.Lines[World.Machine.Axes[axis].Port].IsTroubled
            || board is null || (board.Latch.Standing() & board.Causes.Mask(axis)) != 0
            || World.LastGiven(axis) != given;
    }

    private string? NotDone(MachineCommand command, int axis)
    {
        var definition = World.Machine.Axes[axis];
        var drive = World.Drive(axis);
        var speed = Math.Abs(drive.Plant.Velocity);
        return command switch
        {
            EnableCommand when !drive.Plant.Powered => "has no torque",
            DisableCommand when drive.Plant.Powered => "has torque",
            HomeCommand when !drive.IsHomed => "was not homed",
            // What stood still because it was jammed makes good, when it is let go, the way that its drive had given it: it was at rest all the same.
            StopCommand or HaltCommand when Now - _jammedAt[axis] < CatchingUp => null,
            StopCommand or HaltCommand when drive.Plant.Powered && speed > definition.Limits.Velocity * 0.02 => $"moves at {speed:0.###}",
            MoveCommand { Targets: [{ IsPosition: true } target] } when definition.Reference == ReferenceKind.Incremental && Off(axis, target.Value) is var off
                && off > (definition.InPosition.Window * 1.5) + (4 / definition.CountsPerUnit) => $"is {off:0.####} {definition.Unit} from its target",
            _ => null,
        };
    }

    private double Off(int axis, double target) =>
        new DriveWatch(World).Distance(axis, World.Plant.Drives[axis].Plant.Position, target);
}
