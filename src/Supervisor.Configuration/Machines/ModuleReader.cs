using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads Modbus modules of digital inputs and outputs.</summary>
/// <remarks>Left out: read every cycle of the port; stale after five readings, at least 100 ms; no turnaround.</remarks>
internal sealed class ModuleReader(FileErrors errors, IReadOnlyList<PortDraft> ports, IReadOnlyList<AxisDraft> axes)
{
    private const double LongestMs = 60_000;
    private const double LeastDefaultStaleMs = 100;
    private const int DefaultStalePolls = 5;
    private const int LeastPolls = 2;

    private readonly UsedOnce<string> names = new(errors);
    private readonly UsedOnce<(int Port, int Address)> addresses = new(errors);

    public ModuleDraft Read(Node node)
    {
        if (ObjectReader.Open(node, MachineShapes.Module, errors) is not { } module)
        {
            return new ModuleDraft(null, null);
        }

        // '/' parts module:NAME/BIT.
        var name = Names.Read(module.Require("name", "name of the module"), "/", errors);
        if (name is not null)
        {
            names.Note(name, module.Find("name")!, line => $"module {Show.Quoted(name)} appears twice; first in line {line}");
        }

        var port = ReadPort(module);
        var address = ReadAddress(module, port);
        var pollMs = ReadPoll(module, port is { } index ? ports[index].CycleMs : double.NaN);
        var bits = new ModuleBitsReader(module, errors);
        var (inputs, outputs) = (bits.ReadInputs(), bits.ReadOutputs());
        if (module.Find("inputs") is null && module.Find("outputs") is null)
        {
            errors.Add(module.Node, "has neither inputs nor outputs: add what the module carries, or take it out");
        }

        if (inputs is null && outputs is { ReadBack: null, Function: > 0 } && module.Find("communicationTimeout") is null)
        {
            module.Refuse("outputs.readBack", "nothing of the module could be read, so nobody would know whether it answers: give readBack, inputs or communicationTimeout");
        }

        return new ModuleDraft(name, new ModuleDefinition(
            name ?? "",
            port ?? -1,
            (byte)(address ?? 0),
            inputs,
            outputs,
            new ModuleTimeoutReader(module, errors).Read(pollMs),
            Milliseconds.ToTime(pollMs),
            ReadStale(module, pollMs),
            Milliseconds.ToTime(module.Number("turnaroundMs", new NumberRange(0, 1000, Milliseconds.Unit), fallback: 0)))
        {
            Identification = new IdentificationReader(errors).Read(module),
        });
    }

    private int? ReadPort(ObjectReader module)
    {
        if (module.Text("port", "name of the port the module is wired to") is not { } name)
        {
            return null;
        }

        var known = ports.Select(port => port.Name ?? "").ToList();
        var index = known.IndexOf(name);
        if (index < 0)
        {
            module.Refuse("port", $"no port {Show.Quoted(name)}{Nearest.Hint(name, [.. known.Where(port => port.Length > 0)])}");
        }

        return index < 0 ? null : index;
    }

    private int? ReadAddress(ObjectReader module, int? port)
    {
        var address = module.Integer("address", new NumberRange(1, 247, "(0 is broadcast, 248 to 255 are reserved)"), "the module's unit address on its line");
        if (address is not { } used || port is not { } line)
        {
            return address;
        }

        if (axes.FirstOrDefault(axis => axis.Definition is { } drive && drive.Port == line && drive.Address == used) is { } taken)
        {
            module.Refuse("address", $"address {used} on port {Show.Quoted(ports[line].Name!)} is already used by the axis {Show.Quoted(taken.Name ?? "")}");
        }

        addresses.Note(
            (line, used), module.Find("address")!, first => $"address {used} on port {Show.Quoted(ports[line].Name!)} is already used by the module in line {first}");
        return address;
    }

    /// <summary>A module is read at the beginning of a cycle: whole cycles, rounded up.</summary>
    private static double ReadPoll(ObjectReader module, double cycleMs)
    {
        var pollMs = module.Number("pollMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), cycleMs);
        if (pollMs < cycleMs)
        {
            module.Refuse("pollMs", $"{Show.Number(pollMs)} ms is below the port's cycleMs {Show.Number(cycleMs)} ms, in which everything is read once");
        }

        return Math.Ceiling(pollMs / cycleMs) * cycleMs;
    }

    private static TimeSpan ReadStale(ObjectReader module, double pollMs)
    {
        var staleMs = module.Number(
            "staleMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), Math.Max(DefaultStalePolls * pollMs, LeastDefaultStaleMs));
        if (staleMs < LeastPolls * pollMs)
        {
            module.Refuse(
                "staleMs",
                $"{Show.Number(staleMs)} ms is too short: the inputs are read every {Show.Number(pollMs)} ms; at least {LeastPolls} readings, {Show.Number(LeastPolls * pollMs)} ms");
        }

        return Milliseconds.ToTime(staleMs);
    }
}
