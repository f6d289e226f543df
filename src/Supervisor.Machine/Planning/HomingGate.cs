using Supervisor.Configuration.Machines;
using Supervisor.Machine.Watching;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Inputs;

namespace Supervisor.Machine.Planning;

/// <summary>What stands between an axis and its homing, beyond what stands between it and any motion.</summary>
internal sealed class HomingGate(MachineView view)
{
    /// <summary>A zero that is only set, not looked for, is good only if the axis stands there: a person says so.</summary>
    public Objection? Zero(int axis, bool confirmed) => view.Axes[axis].Homing is { OnlySetsZero: true } homing && !confirmed
        ? new Objection(
            Refusal.NeedsConfirmation, axis,
            $"{view.NameOf(axis)}: homing method {homing.Method} looks for nothing and takes the present position for {Sentences.Length(view.Axes[axis], homing.Offset)}: make sure that it stands there, then confirm (home --confirm)")
        : null;

    /// <summary>Everything that must be clear of the axis is proven so, or a person vouches for what can't be proven.</summary>
    public Objection? Clear(int axis, bool confirmed)
    {
        foreach (var condition in view.Axes[axis].Homing?.ClearOf ?? [])
        {
            var state = Clearance.StateOf(view.Board, condition, view.Now);
            if (state == ClearState.Blocked)
            {
                return new Objection(Refusal.NotClearToHome, axis, Blocked(axis, condition));
            }

            if (state == ClearState.Unproven && !confirmed)
            {
                return new Objection(
                    Refusal.NeedsConfirmation, axis,
                    $"{view.NameOf(axis)} must be clear of {view.NameOf(condition.Axis)}, which is not referenced: home {view.NameOf(condition.Axis)} first, or look that it is out of the way and confirm (home --confirm)");
            }
        }

        return null;
    }

    private string Blocked(int axis, ClearCondition condition)
    {
        if (condition.Input is { } input)
        {
            return $"{view.NameOf(axis)} is not clear to be homed: input {input.Text} is open or silent: clear what it watches, then home {view.NameOf(axis)} again";
        }

        var other = view.Axes[condition.Axis];
        ref readonly var now = ref view[condition.Axis];
        return now.Referenced
            ? $"{view.NameOf(axis)} is not clear to be homed: {other.Name} is at {Sentences.Length(other, now.Position)} and must be between {Sentences.Length(other, condition.Lower)} and {Sentences.Length(other, condition.Upper)}: move {other.Name} there first"
            : $"{view.NameOf(axis)} is not clear to be homed: {other.Name} moves and is not referenced: wait until it stands";
    }
}
