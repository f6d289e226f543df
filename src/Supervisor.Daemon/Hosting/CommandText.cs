using System.Globalization;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Daemon.Hosting;

/// <summary>A command as a person would have typed it, with units.</summary>
internal static class CommandText
{
    public static string Of(MachineCommand command, MachineDefinition machine) => command switch
    {
        EnableCommand enable => $"enable {Names(enable.Axes, machine)}",
        DisableCommand disable => $"disable {Names(disable.Axes, machine)}",
        ProveBrakeCommand prove => $"brake {Names(prove.Axes, machine)}",
        ProveTimeoutCommand prove => $"drive prove-timeout {machine.Axes[prove.Axis].Name} {(prove.By == 0 ? "at rest" : $"by {Number(prove.By)} {machine.Axes[prove.Axis].Unit}")}{Velocity(prove.Velocity)}",
        HomeCommand home => $"home {Names(home.Axes, machine)}",
        StopCommand stop => $"stop {Names(stop.Axes, machine)}",
        HaltCommand halt => $"halt {Names(halt.Axes, machine)}",
        ReleaseCommand release => $"release {Names(release.Axes, machine)}",
        ResetCommand reset => $"reset {Names(reset.Axes, machine)}{(reset.LoadSupported ? ", its load supported" : "")}",
        MoveCommand move => $"move {string.Join(", ", move.Targets.Select(target => Target(target, machine)))}{Velocity(move.Velocity)}{Ramp("acceleration", move.Acceleration)}"
            + $"{Ramp("deceleration", move.Deceleration)}{Approach(move.Approach)}{(move.AfterCurrent ? ", after the running one" : "")}",
        JogCommand jog => $"jog {machine.Axes[jog.Axis].Name} {(jog.Positive ? "+" : "-")}{Velocity(jog.Velocity)}",
        ContactCommand contact =>
            $"contact {machine.Axes[contact.Axis].Name} toward {Number(contact.Toward)} {machine.Axes[contact.Axis].Unit} "
            + $"at {Number(contact.Torque)} % and {Number(contact.Velocity)} {machine.Axes[contact.Axis].Unit}/s",
        ChooseModeCommand choose => $"mode {choose.Mode.ToString().ToLowerInvariant()}",
        SwitchPowerCommand power => $"power {(power.On ? "on" : "off")}",
        SetOutputCommand { Axis: -1 } output => $"output {output.Output} {(output.On ? "on" : "off")}",
        SetOutputCommand output => $"set {machine.Axes[output.Axis].Name}.{output.Output} {(output.On ? "on" : "off")}",
        SilenceHornCommand => "horn silence",
        TestLampsCommand test => $"lamps test{(test.Horn ? " with the horn" : "")}",
        ResetCounterCommand reset => $"counters reset {Counter(reset.Counter, machine)}",
        RaiseAlarmCommand raise => $"raise alarm {raise.Number}",
        ClearAlarmCommand clear => $"clear alarm {clear.Number}",
        CountCommand count => $"count {count.By} on {Counter(count.Counter, machine)}",
        AcknowledgeCommand { Alarms.Count: 0 } => "acknowledge --all",
        AcknowledgeCommand known => $"acknowledge {string.Join(", ", known.Alarms.Select(choice => Choice(choice, machine)))}",
        OutOfServiceCommand take => $"alarms out-of-service {string.Join(", ", take.Alarms.Select(key => Key(key, machine)))} --for {Number(take.For.TotalMinutes)}m",
        BackInServiceCommand back => $"alarms in-service {string.Join(", ", back.Alarms.Select(key => Key(key, machine)))}",
        _ => command.GetType().Name,
    };

    /// <summary>Names of the axes that a command is meant for; empty for one that is for none.</summary>
    public static IReadOnlyList<string> AxesOf(MachineCommand command, MachineDefinition machine)
    {
        return command switch
        {
            EnableCommand enable => Of(enable.Axes),
            DisableCommand disable => Of(disable.Axes),
            ProveBrakeCommand prove => Of(prove.Axes),
            HomeCommand home => Of(home.Axes),
            StopCommand stop => Of(stop.Axes),
            HaltCommand halt => Of(halt.Axes),
            ReleaseCommand release => Of(release.Axes),
            ResetCommand reset => Of(reset.Axes),
            MoveCommand move => Of([.. move.Targets.Select(target => target.Axis)]),
            JogCommand jog => Of([jog.Axis]),
            ContactCommand contact => Of([contact.Axis]),
            SetOutputCommand { Axis: >= 0 } output => Of([output.Axis]),
            _ => [],
        };

        string[] Of(IReadOnlyList<int> axes) =>
            axes.Count == 0 ? [.. machine.Axes.Select(axis => axis.Name)] : [.. axes.Select(axis => machine.Axes[axis].Name)];
    }

    private static string Counter(int counter, MachineDefinition machine) => counter >= 0 && counter < machine.Counters.Count ? machine.Counters[counter].Name : $"{counter}";

    private static string Key(AlarmKey key, MachineDefinition machine) =>
        new AlarmNames(machine).Of(key.Source) is { Length: > 0 } name ? $"{key.Number}:{name}" : $"{key.Number}";

    private static string Choice(AlarmChoice choice, MachineDefinition machine) => (choice.Number, choice.Source) switch
    {
        ({ } number, { } source) => Key(new AlarmKey(number, source), machine),
        ({ } number, null) => $"{number}",
        (null, { } source) => new AlarmNames(machine).Of(source),
        _ => "--all",
    };

    private static string Names(IReadOnlyList<int> axes, MachineDefinition machine) =>
        axes.Count == 0 ? "all" : string.Join(", ", axes.Select(axis => machine.Axes[axis].Name));

    private static string Target(MoveTarget target, MachineDefinition machine)
    {
        var axis = machine.Axes[target.Axis];
        var way = target.Way switch
        {
            WayRound.Positive => " in positive direction",
            WayRound.Negative => " in negative direction",
            _ => "",
        };
        return target.WithoutEnd ? $"{axis.Name} without end at {Number(target.Value)} {axis.Unit}/s"
            : $"{axis.Name} {(target.Relative || target.FromActual ? "by " : "")}{Number(target.Value)} {axis.Unit}{(target.FromActual ? " from where it is" : "")}{way}";
    }

    private static string Velocity(double? velocity) => velocity is { } value ? $" at {Number(value)}/s" : "";

    private static string Ramp(string name, double? ramp) => ramp is { } value ? $", {name} {Number(value)}/s²" : "";

    private static string Approach(ApproachSpeed? approach) => approach is { } slow
        ? $", slow at {Number(slow.Velocity)}/s over {Number(slow.StartDistance)} at the start and {Number(slow.EndDistance)} at the end"
        : "";

    private static string Number(double value) => value.ToString("0.###", CultureInfo.InvariantCulture);
}
