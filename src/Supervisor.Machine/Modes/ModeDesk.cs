using Supervisor.Machine.Commands;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;

namespace Supervisor.Machine.Modes;

/// <summary>The mode the machine is in, and what it forbids. Coordinator only, but for <see cref="Mode"/>.</summary>
internal sealed class ModeDesk(MachineView view)
{
    private volatile MachineMode _mode;

    /// <summary>The mode. It is production after a start, in which nothing moves without a command either. Any thread.</summary>
    public MachineMode Mode => _mode;

    /// <summary>Told of a mode that does not let axes come back by themselves.</summary>
    public Action<string>? RecoveryForbidden { get; set; }

    public bool Permits(ModeAct act) => ModeTable.Permits(_mode, act);

    /// <summary>Chooses a mode; nothing starts by it, and nothing may be under way whose rules would change.</summary>
    public Objection? Choose(MachineMode mode, RunningCommand?[] inHand)
    {
        if (!Enum.IsDefined(mode))
        {
            return new Objection(Refusal.InvalidArgument, -1, "this mode is not known: choose production, maintenance or manual");
        }

        if (mode == _mode)
        {
            return null;
        }

        for (var axis = 0; axis < view.Axes.Length; axis++)
        {
            if (inHand[axis] is not null || view[axis].State is AxisState.Moving or AxisState.Homing)
            {
                return new Objection(Refusal.AxisBusy, axis, $"{view.NameOf(axis)} is in motion or has a command in hand: let it end, or stop it, then choose the mode");
            }

            if (!ModeTable.Permits(mode, ModeAct.EnergiseUnreferenced) && view[axis] is { TorqueOn: true, Referenced: false })
            {
                return new Objection(Refusal.NotReferenced, axis,
                    $"{view.NameOf(axis)} has torque and does not know its place, which {Name(mode)} mode does not permit: home or disable {view.NameOf(axis)} first");
            }
        }

        _mode = mode;
        if (!Permits(ModeAct.Recover))
        {
            RecoveryForbidden?.Invoke($"{Name(mode)} mode was chosen: nothing comes back by itself in it");
        }

        return null;
    }

    /// <summary>Highest velocity of an axis in this mode, unit/s.</summary>
    public double HighestVelocity(int axis) =>
        Permits(ModeAct.FullSpeed) ? view.Axes[axis].Limits.Velocity : Math.Min(view.Axes[axis].JogVelocity, view.Axes[axis].Limits.Velocity);

    /// <summary>The speed of the mode stands in the way of one that was asked for by its number.</summary>
    public Objection? Velocity(int axis, double velocity) => velocity <= HighestVelocity(axis) * (1 + 1e-9)
        ? null
        : new Objection(Refusal.VelocityLimit, axis,
            $"{view.NameOf(axis)}: {Sentences.Number(velocity)} {view.Axes[axis].Unit}/s is above {Sentences.Number(HighestVelocity(axis))} {view.Axes[axis].Unit}/s, the most that {Name(_mode)} mode permits (its jog velocity): go slower, or choose production mode");

    /// <summary>Its name for people and programs.</summary>
    public static string Name(MachineMode mode) => mode switch
    {
        MachineMode.Maintenance => "maintenance",
        MachineMode.Manual => "manual",
        _ => "production",
    };
}
