using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Runtime;

namespace Supervisor.Machine.Outputs;

/// <summary>Why an output is held at a level.</summary>
internal enum HoldReason : byte
{
    None = 0,
    Disabled = 1,
    Stopped = 2,
    Faulted = 3,
}

/// <summary>What holds a named output: an axis that is faulted, stopped or disabled, where the machine file says that this sets its level.</summary>
/// <param name="Reason">None: nothing holds it.</param>
/// <param name="Axis">The axis.</param>
/// <param name="On">The level it is held at.</param>
internal readonly record struct OutputHold(HoldReason Reason, int Axis, bool On)
{
    /// <summary>Of several that set a level a fault goes before a stop, a stop before disabling; one that says hold sets none. Any thread.</summary>
    /// <param name="board">The machine.</param>
    /// <param name="output">The output.</param>
    /// <param name="standing">Causes of stops that stand.</param>
    public static OutputHold Of(MachineBoard board, OutputDefinition output, ulong standing)
    {
        var hold = default(OutputHold);
        for (var i = 0; i < output.Axes.Count; i++)
        {
            var axis = output.Axes[i];
            var state = board.Axes[axis].Read().State;
            hold = hold.Or(output.AtFault, HoldReason.Faulted, axis, state == AxisState.Faulted);
            hold = hold.Or(output.AtStop, HoldReason.Stopped, axis, board.Latch.IsLocked(axis) || (standing & board.Causes.Mask(axis)) != 0);
            hold = hold.Or(output.AtDisable, HoldReason.Disabled, axis, state == AxisState.Disabled);
        }

        return hold;
    }

    /// <summary>Why it is held, as a part of a sentence, such as "gantry is stopped".</summary>
    public string Because(MachineDefinition machine) => Reason switch
    {
        HoldReason.Faulted => $"{machine.Axes[Axis].Name} is faulted",
        HoldReason.Stopped => $"{machine.Axes[Axis].Name} is stopped",
        HoldReason.Disabled => $"{machine.Axes[Axis].Name} is disabled",
        _ => "",
    };

    /// <summary>What lets it go, as a part of a sentence.</summary>
    public string Remedy(MachineDefinition machine) => Reason switch
    {
        HoldReason.Faulted => $"reset {machine.Axes[Axis].Name}",
        HoldReason.Stopped => $"release {machine.Axes[Axis].Name}, or close and reset what stops it",
        _ => $"enable {machine.Axes[Axis].Name}",
    };

    private OutputHold Or(OutputState state, HoldReason reason, int axis, bool applies) =>
        applies && state != OutputState.Hold && reason > Reason ? new OutputHold(reason, axis, state == OutputState.On) : this;
}
