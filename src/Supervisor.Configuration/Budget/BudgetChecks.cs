using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Budget;

/// <summary>What a file asks of its lines must fit: the cycle, each drive's time-out between the legal silence and what its stop may take, and the longest answers.</summary>
internal sealed class BudgetChecks(FileErrors errors, IReadOnlyList<PortDraft> ports, List<AxisDraft> axes, IReadOnlyList<ModuleDraft> modules, IReadOnlyList<InterlockDefinition> interlocks)
{
    /// <summary>
    /// Checks every port, and gives time-outs that are left out the length their line needs. A file with other errors is not computed: what follows
    /// from a wrong value would only hide it.
    /// </summary>
    /// <param name="portNodes">The ports in the file.</param>
    /// <param name="axisNodes">The axes in the file.</param>
    /// <param name="interlockNodes">The interlocks in the file.</param>
    public void Check(IReadOnlyList<Node> portNodes, IReadOnlyList<Node> axisNodes, IReadOnlyList<Node> interlockNodes)
    {
        if (errors.Count > 0)
        {
            return;
        }

        var relays = new OffDelayChecks(errors, ports, axes, modules, interlocks, interlockNodes);
        for (var port = 0; port < ports.Count; port++)
        {
            if (IsWhole(port) && LineBudget.OfPort(port, ports[port].Definition, AxesOf(port), ModulesOf(port), interlocks) is var budget && budget.Axes.Count + budget.Modules.Count > 0)
            {
                CheckCycle(portNodes[port], ports[port].Definition, budget);
                CheckAnswers(portNodes[port], port);
                foreach (var axis in budget.Axes)
                {
                    CheckTimeout(axisNodes[axis.Axis], axis);
                    relays.Check(axisNodes[axis.Axis], axis);
                }
            }
        }
    }

    private static double Ms(TimeSpan time) => Math.Round(time.TotalMilliseconds, 1);

    private bool IsWhole(int port) =>
        ports[port].Definition is { Baud: > 0, StopBits: > 0 } definition
        && definition.ResponseTimeout > TimeSpan.Zero
        && double.IsFinite(ports[port].CycleMs)
        && (definition.Gap.Kind != GapKind.Fixed || definition.Gap.Fixed > TimeSpan.Zero)
        && axes.TrueForAll(draft => draft.Definition is not null && (draft.Definition.Port != port || IsWhole(draft.Definition)))
        && modules.All(draft => draft.Definition is not null);

    private static bool IsWhole(AxisDefinition axis) =>
        axis.Drive is { Feedback.Count: > 0, Command.Count: > 0 } && double.IsFinite(axis.Limits.Velocity) && axis.Limits.Deceleration > 0 && axis.Limits.Jerk is null or > 0;

    private List<(int Index, AxisDefinition Axis)> AxesOf(int port) =>
        [.. axes.Select((draft, index) => (index, draft.Definition!)).Where(entry => entry.Item2.Port == port)];

    private List<ModuleDefinition> ModulesOf(int port) => [.. modules.Select(draft => draft.Definition!).Where(module => module.Port == port)];

    private void CheckCycle(Node node, PortDefinition port, PortBudget budget)
    {
        if (budget.Axes.Count == 0)
        {
            CheckPolls(node, port, budget);
        }
        else if (budget.Reached > port.Cycle)
        {
            errors.Add(
                node.Find("cycleMs") ?? node,
                $"{Show.Number(port.Cycle.TotalMilliseconds)} ms can't be met: reading its {budget.Axes.Count} axes{(budget.Modules.Count > 0 ? $" and {budget.Modules.Count} modules" : "")} takes {Show.Number(Ms(budget.Reached))} ms at {port.Baud} baud "
                + $"({string.Join(", ", budget.Axes.Select(axis => $"{axes[axis.Axis].Name} {Show.Number(Ms(axis.Exchange))} ms").Concat(budget.Modules.Select(module => $"{module.Name} {Show.Number(Ms(module.Exchange))} ms")))}); "
                + "give a longer cycle, a higher rate, a shorter gap where the drives allow it, fewer feedback registers, or another port to some axes");
        }
    }

    /// <summary>Without axes nothing has to be read in every cycle; each module is, as often as it says.</summary>
    private void CheckPolls(Node node, PortDefinition port, PortBudget budget)
    {
        if (budget.Use > 1)
        {
            errors.Add(
                node.Find("cycleMs") ?? node,
                $"its modules can't be read as often as their pollMs asks: that is {Show.Number(Math.Round(100 * budget.Use))} % of the line's time at {port.Baud} baud "
                + $"({string.Join(", ", budget.Modules.Select(module => $"{module.Name} {Show.Number(Ms(module.Read))} ms of every {Show.Number(module.Poll.TotalMilliseconds)} ms"))}); "
                + "give a longer pollMs, a higher rate, or another port to some modules");
        }
    }

    /// <summary>An answer has to end within the time-out, also the longest.</summary>
    private void CheckAnswers(Node node, int port)
    {
        var definition = ports[port].Definition;
        var read = AxesOf(port).Select(entry => (axes[entry.Index].Name, UnitFrames.Of(entry.Axis.Drive).LongestReply))
            .Concat(ModulesOf(port).Select(module => ((string?)module.Name, UnitFrames.Of(module).LongestReply)));
        foreach (var (name, reply) in read)
        {
            if (new LineTiming(definition).Characters(reply) is var needed && needed > definition.ResponseTimeout)
            {
                errors.Add(
                    node.Find("responseTimeoutMs") ?? node,
                    $"{Show.Number(definition.ResponseTimeout.TotalMilliseconds)} ms is too short: the longest answer of {Show.Quoted(name ?? "")} has {reply} bytes and takes {Show.Number(Math.Round(needed.TotalMilliseconds, 2))} ms at {definition.Baud} baud; "
                    + "give a longer one, a higher rate, or fewer registers at a time (wire.read.maxRegisters)");
                return;
            }
        }

        CheckIdentifications(node, port);
    }

    private void CheckIdentifications(Node node, int port)
    {
        var definition = ports[port].Definition;
        var asked = AxesOf(port).Select(entry => (axes[entry.Index].Name, entry.Axis.Drive.Identification, entry.Axis.Drive.Wire.Turnaround))
            .Concat(ModulesOf(port).Select(module => ((string?)module.Name, module.Identification, module.Turnaround)));
        foreach (var (name, identification, turnaround) in asked)
        {
            if (identification is not null && new LineTiming(definition).Characters(identification.LeastReplyBytes) is var needed && needed > definition.ResponseTimeout)
            {
                errors.Add(
                    node.Find("responseTimeoutMs") ?? node,
                    $"{Show.Number(Ms(definition.ResponseTimeout))} ms is too short: {Show.Quoted(name ?? "")} needs at least {Show.Number(Ms(needed))} ms at {definition.Baud} baud to tell its identification"
                    + $"{(turnaround > TimeSpan.Zero ? " after its turnaround" : "")}; give a longer one, or a higher rate");
            }
        }
    }

    private void CheckTimeout(Node node, AxisBudget budget)
    {
        var axis = axes[budget.Axis].Definition!;
        var (drive, port) = (axis.Drive, ports[axis.Port].Definition);
        var least = LineBudget.LeastTimeout(budget, drive);
        if (drive.CommunicationTimeout is null && drive.Parameter(FieldNames.CommunicationTimeout) is null)
        {
            return;
        }

        if (node.Find("communicationTimeoutMs") is not { } member)
        {
            Lengthen(budget.Axis, axis, least);
        }
        else if (axis.CommunicationTimeout > TimeSpan.Zero && axis.CommunicationTimeout < least && axis.CommunicationTimeout >= (port.Cycle * 3) + LineBudget.Pause)
        {
            errors.Add(
                member,
                $"{Show.Number(axis.CommunicationTimeout.TotalMilliseconds)} ms is too short for this line: port {Show.Quoted(port.Name)} may leave the drive unasked for {Show.Number(Ms(budget.LegalSilence))} ms "
                + $"(a cycle of {Show.Number(port.Cycle.TotalMilliseconds)} ms, {port.Retries} repeats of its own, and other units that let {Show.Number(port.ResponseTimeout.TotalMilliseconds)} ms pass without an answer), "
                + $"and {Show.Number(LineBudget.Pause.TotalMilliseconds)} ms come on top{(drive.CommunicationTimeout?.FedBy == TimeoutFeed.Write ? ", and as only writes feed it, half as much again" : "")}; "
                + $"give at least {Show.Number(Math.Ceiling(least.TotalMilliseconds))} ms, or the port a shorter responseTimeoutMs or fewer retries");
        }

        CheckStop(node, axes[budget.Axis].Definition!);
    }

    /// <summary>Left out: what its line needs, in whole milliseconds, if that is longer than usual.</summary>
    private void Lengthen(int index, AxisDefinition axis, TimeSpan least)
    {
        if (axis.CommunicationTimeout < least)
        {
            axes[index] = axes[index] with { Definition = axis with { CommunicationTimeout = TimeSpan.FromMilliseconds(Math.Ceiling(least.TotalMilliseconds)) } };
        }
    }

    /// <summary>When the supervisor is lost the drive runs on until its time-out has passed, and only then begins to stop.</summary>
    private void CheckStop(Node node, AxisDefinition axis)
    {
        var at = node.Find("communicationTimeoutMs") ?? node;
        var timeout = axis.CommunicationTimeout;
        var ramp = axis.Limits.StoppingTime(axis.Limits.Velocity);
        var brake = axis.Brake?.Close ?? TimeSpan.Zero;
        if (axis.StopBudget is { } budget && budget > TimeSpan.Zero && timeout + ramp + brake > budget)
        {
            errors.Add(
                at,
                $"{Show.Number(timeout.TotalMilliseconds)} ms is too long for stopBudgetMs {Show.Number(budget.TotalMilliseconds)}: with {Show.Number(Ms(ramp))} ms ramp from top speed and {Show.Number(Ms(brake))} ms brake "
                + $"the axis rests {Show.Number(Ms(timeout + ramp + brake))} ms after the loss of the supervisor; give a shorter time-out, a steeper deceleration or a lower velocity, or a longer budget if the risk assessment allows it");
        }
    }
}
