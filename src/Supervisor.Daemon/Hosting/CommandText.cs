using System.Globalization;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;

namespace Supervisor.Daemon.Hosting;

/// <summary>A command as a person would have typed it, with units.</summary>
internal static class CommandText
{
    public static string Of(MachineCommand command, MachineDefinition machine) => command switch
    {
        EnableCommand enable => $"enable {Names(enable.Axes, machine)}",
        DisableCommand disable => $"disable {Names(disable.Axes, machine)}",
        HomeCommand home => $"home {Names(home.Axes, machine)}",
        StopCommand stop => $"stop {Names(stop.Axes, machine)}",
        HaltCommand halt => $"halt {Names(halt.Axes, machine)}",
        ReleaseCommand release => $"release {Names(release.Axes, machine)}",
        ResetCommand reset => $"reset {Names(reset.Axes, machine)}",
        MoveCommand move => $"move {string.Join(", ", move.Targets.Select(target => Target(target, machine)))}{Velocity(move.Velocity)}{Acceleration(move.Acceleration)}",
        JogCommand jog => $"jog {machine.Axes[jog.Axis].Name} {(jog.Positive ? "+" : "-")}{Velocity(jog.Velocity)}",
        ContactCommand contact =>
            $"contact {machine.Axes[contact.Axis].Name} toward {Number(contact.Toward)} {machine.Axes[contact.Axis].Unit} "
            + $"at {Number(contact.Torque)} % and {Number(contact.Velocity)} {machine.Axes[contact.Axis].Unit}/s",
        ChooseModeCommand choose => $"mode {choose.Mode.ToString().ToLowerInvariant()}",
        SetOutputCommand output => $"set {machine.Axes[output.Axis].Name}.{output.Output} {(output.On ? "on" : "off")}",
        _ => command.GetType().Name,
    };

    private static string Names(IReadOnlyList<int> axes, MachineDefinition machine) =>
        axes.Count == 0 ? "all" : string.Join(", ", axes.Select(axis => machine.Axes[axis].Name));

    private static string Target(MoveTarget target, MachineDefinition machine)
    {
        var axis = machine.Axes[target.Axis];
        return $"{axis.Name} {(target.Relative ? "by " : "")}{Number(target.Value)} {axis.Unit}";
    }

    private static string Velocity(double? velocity) => velocity is { } value ? $" at {Number(value)}/s" : "";

    private static string Acceleration(double? acceleration) => acceleration is { } value ? $", acceleration {Number(value)}/s²" : "";

    private static string Number(double value) => value.ToString("0.###", CultureInfo.InvariantCulture);
}
