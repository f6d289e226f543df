using Supervisor.Configuration;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Signals;
using Supervisor.Daemon.Hosting;
using Supervisor.Machine.Watching;
using Supervisor.Records;

namespace Supervisor.Daemon.Verbs;

/// <summary>A good machine file in a few lines.</summary>
internal static class CheckSummary
{
    public static void Print(MachineDefinition machine, TextWriter to)
    {
        to.WriteLine($"machine \"{machine.Name}\": {Counted.Of(machine.Ports.Count, "port")}, {Counted.Of(machine.Axes.Count, "axis", "axes")}, {Counted.Of(machine.Interlocks.Count, "interlock")}");
        for (var port = 0; port < machine.Ports.Count; port++)
        {
            var definition = machine.Ports[port];
            to.WriteLine(
                $"  port {definition.Name}: {definition.Device}, {definition.Baud} baud, cycle {Text.Of(definition.Cycle.TotalMilliseconds)} ms, "
                + $"{Counted.Of(AxesOf(machine, port), "axis", "axes")}{Modules(machine, port)}; of the last {definition.ErrorRate.Exchanges} exchanges "
                + $"{Text.Of(definition.ErrorRate.WarningPercent)} % failed is a warning, {Text.Of(definition.ErrorRate.FaultPercent)} % a fault");
        }

        foreach (var axis in machine.Axes)
        {
            to.WriteLine($"  axis {axis.Name}: {machine.Ports[axis.Port].Name} address {axis.Address}, \"{axis.Drive.Name}\", {axis.Unit}, {Travel(axis)}{Homing(axis)}{MustTell(axis.Drive.Identification)}");
        }

        foreach (var module in machine.Modules)
        {
            to.WriteLine(
                $"  module {module.Name}: {machine.Ports[module.Port].Name} address {module.Address}, {module.Inputs?.Bits ?? 0} inputs, {module.Outputs?.Bits ?? 0} outputs, "
                + $"read every {Text.Of(module.Poll.TotalMilliseconds)} ms{AtLoss(module)}{MustTell(module.Identification)}");
        }

        foreach (var interlock in machine.Interlocks)
        {
            to.WriteLine(
                $"  interlock {interlock.Name}: {Kind(interlock.Kind)}, stop category {interlock.StopCategory}, "
                + $"{string.Join(", ", interlock.Axes.Select(axis => machine.Axes[axis].Name))}; "
                + (interlock.ResetInput is { } reset ? $"reset by {reset.Text}" : "reset by command"));
        }

        foreach (var zone in machine.Zones)
        {
            to.WriteLine($"  {ZoneSummary.Line(machine, zone)}");
        }

        foreach (var output in machine.Outputs)
        {
            to.WriteLine(
                $"  output {output.Name}: {output.Place.Text}, start {Camel(output.AtStart.ToString())}, stop {Camel(output.AtStop.ToString())}, "
                + $"disable {Camel(output.AtDisable.ToString())}, fault {Camel(output.AtFault.ToString())}, loss {Camel(output.AtLoss.ToString())}");
        }

        if (machine.PowerEnable is { } power)
        {
            to.WriteLine(
                $"  power enable: {power.Output.Text}, mirror contact {power.Feedback.Text} opens within {Text.Of(power.OnWithin.TotalMilliseconds)} ms, "
                + $"closes within {Text.Of(power.OffWithin.TotalMilliseconds)} ms");
        }

        if (machine.Alive is { } alive)
        {
            to.WriteLine($"  alive: {alive.Output.Text}, period {Text.Of(alive.Period.TotalMilliseconds)} ms");
        }

        foreach (var line in CheckedAlarms.Lines(machine))
        {
            to.WriteLine($"  {line}");
        }

        foreach (var channel in machine.Messages)
        {
            to.WriteLine($"  {ChannelSummary.Line(channel)}");
        }

        foreach (var line in GpioLines(machine))
        {
            to.WriteLine($"  {line.Text}: {line.Direction}, line {line.Line} of chip \"{line.Chip}\": {line.Use}; looked for by diagnose only");
        }

        BudgetText.Print(machine, to);
        foreach (var warning in Warnings(machine))
        {
            to.WriteLine($"  warning: {warning}");
        }
    }

    /// <summary>Every GPIO line that the file names, once, with its direction and what it is for.</summary>
    internal static IEnumerable<CheckedLineJson> GpioLines(MachineDefinition machine) =>
        machine.AllInputs().Where(input => input.Gpio is not null).DistinctBy(input => input.Text)
            .Select(input => new CheckedLineJson(input.Text, input.Gpio!.Chip, input.Gpio.Line, "input", string.Join(", ", machine.UsesOf(input))))
            .Concat(machine.AllOutputs().Where(output => output.Place.Gpio is not null)
                .Select(output => new CheckedLineJson(output.Place.Text, output.Place.Gpio!.Chip, output.Place.Gpio.Line, output.Place.ActiveLow ? "active-low output" : "output", output.Name)));

    public static CheckJson ToJson(string path, IReadOnlyList<FileError> errors, string? name, MachineDefinition? machine) => new(
        path,
        errors.Count == 0,
        name,
        machine is null ? [] : [.. machine.Ports.Select((port, i) => new CheckedPortJson(port.Name, port.Device, port.Baud, port.Cycle.TotalMilliseconds, AxesOf(machine, i))
        {
            ErrorRate = new CheckedErrorRateJson(port.ErrorRate.Exchanges, port.ErrorRate.WarningPercent, port.ErrorRate.FaultPercent),
        })],
        machine is null ? [] : [.. machine.Axes.Select(axis => new CheckedAxisJson(
            axis.Name, machine.Ports[axis.Port].Name, axis.Address, axis.Drive.Name, axis.Unit, Camel(axis.Reference.ToString())) { Identification = ToJson(axis.Drive.Identification) })],
        machine is null ? [] : [.. machine.Interlocks.Select(each => new CheckedInterlockJson(
            each.Name, Camel(each.Kind.ToString()), each.StopCategory, [.. each.Axes.Select(axis => machine.Axes[axis].Name)]))],
        machine is null ? [] : [.. machine.Modules.Select(module => new CheckedModuleJson(
            module.Name, machine.Ports[module.Port].Name, module.Address, module.Inputs?.Bits ?? 0, module.Outputs?.Bits ?? 0, module.Poll.TotalMilliseconds,
            Camel(module.AtLoss.ToString()), module.CommunicationTimeout?.Timeout.TotalMilliseconds) { Identification = ToJson(module.Identification) })],
        machine is null ? [] : [.. GpioLines(machine)],
        [.. errors.Select(error => new ErrorJson(error.File, error.Line, error.Column, error.Path, error.Message))])
    {
        Zones = machine is null ? [] : [.. machine.Zones.Select(zone => ZoneSummary.ToJson(machine, zone))],

        Messages = machine is null ? [] : [.. machine.Messages.Select(ChannelSummary.ToJson)],
        Lines = machine is null ? [] : BudgetText.ToJson(machine),
        Warnings = machine is null ? [] : Warnings(machine),
        Outputs = machine is null ? [] : [.. machine.Outputs.Select(output => new CheckedOutputJson(
            output.Name, output.Place.Text, [.. output.Axes.Select(axis => machine.Axes[axis].Name)], Camel(output.AtStart.ToString()),
            Camel(output.AtStop.ToString()), Camel(output.AtDisable.ToString()), Camel(output.AtFault.ToString()), Camel(output.AtLoss.ToString())))],
    };

    private static IReadOnlyList<string> Warnings(MachineDefinition machine) => [.. OutputPromises.Missing(machine), .. StartPromises.Missing(machine), .. ColourMeanings.Unusual(machine), .. PortAdvice.All(machine)];

    private static string Modules(MachineDefinition machine, int port) =>
        machine.Modules.Count(module => module.Port == port) is > 0 and var count ? $", {Counted.Of(count, "module")}" : "";

    private static string MustTell(IdentificationDefinition? identification) => identification is null ? "" : $"; must tell what it is: {IdentityTexts.Accepted(identification)}";

    private static CheckedIdentificationJson? ToJson(IdentificationDefinition? identification) =>
        identification is null ? null : new CheckedIdentificationJson(identification.Vendor, identification.Product, identification.Revisions);

    private static string AtLoss(ModuleDefinition module) => module switch
    {
        { Outputs: null } => "",
        { CommunicationTimeout: { Reaction: ModuleReaction.Off } timeout } => $"; outputs go off after {Text.Of(timeout.Timeout.TotalMilliseconds)} ms of silence",
        _ => "; outputs stay as they are when nobody speaks to it",
    };

    private static int AxesOf(MachineDefinition machine, int port) => machine.Axes.Count(axis => axis.Port == port);

    private static string Travel(AxisDefinition axis) => axis switch
    {
        { EndlessPeriod: { } period } => $"endless, period {Text.Of(period)}",
        { Limits: { LowerPosition: { } lower, UpperPosition: { } upper } } => $"{Text.Of(lower)} to {Text.Of(upper)}",
        _ => "no position limits",
    };

    private static string Homing(AxisDefinition axis) =>
        axis.Homing is { } homing ? $", homing method {homing.Method}, order {homing.Order}" : axis.Reference == ReferenceKind.None ? ", needs no zero" : "";

    private static string Kind(InterlockKind kind) => kind switch
    {
        InterlockKind.EmergencyStop => "emergency stop",
        InterlockKind.Guard => "guard",
        _ => "process",
    };

    private static string Camel(string pascal) => char.ToLowerInvariant(pascal[0]) + pascal[1..];
}
