using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads interlocks.</summary>
internal sealed class InterlockReader(LoadedFile file, IReadOnlyList<PortDraft> ports, IReadOnlyList<AxisDraft> axes, IReadOnlyList<ModuleDraft> modules)
{
    /// <summary>The word for every axis.</summary>
    public const string AllAxes = "all";

    private const int MostInputs = 16;

    private static readonly Choices<InterlockKind> Kinds = new(
        ("emergencyStop", InterlockKind.EmergencyStop), ("guard", InterlockKind.Guard), ("process", InterlockKind.Process));

    private readonly UsedOnce<string> names = new(file.Errors);
    private readonly InputReader inputReader = new(file, axes, modules);

    /// <summary>The interlock; null when its value is no object.</summary>
    public InterlockDefinition? Read(Node node)
    {
        if (ObjectReader.Open(node, MachineShapes.Interlock, file.Errors) is not { } interlock)
        {
            return null;
        }

        var name = Names.Read(interlock.Require("name", "name of the interlock"), ".", file.Errors);
        if (name is not null)
        {
            names.Note(name, interlock.Find("name")!, line => $"interlock {Show.Quoted(name)} appears twice; first in line {line}");
        }

        var kind = interlock.Choice("kind", Kinds, "\"emergencyStop\", \"guard\" or \"process\"");
        var inputs = ReadInputs(interlock);
        var timing = new InterlockTiming(interlock, ports, axes, modules);
        var stopped = ReadAxes(interlock);
        return new InterlockDefinition(
            name ?? "",
            kind ?? default,
            inputs,
            timing.ReadDiscrepancy(inputs),
            ReadStopCategory(interlock, kind),
            stopped,
            ReadResetInput(interlock, kind),
            timing.ReadTripDelay(kind),
            timing.ReadStaleAfter(inputs))
        {
            OffDelay = timing.ReadOffDelay(kind, stopped),
        };
    }

    private List<InputReference> ReadInputs(ObjectReader interlock)
    {
        var once = new UsedOnce<string>(file.Errors);
        var inputs = new List<InputReference>();
        foreach (var node in interlock.Items("inputs", "the inputs that must all be closed"))
        {
            if (inputReader.Read(node) is { } input)
            {
                once.Note(input.Text, node, _ => $"{Show.Quoted(input.Text)} is listed twice; one contact can't be two channels");
                inputs.Add(input);
            }
        }

        if (interlock.Find("inputs") is { Kind: NodeKind.Array } list)
        {
            if (list.Items.Count == 0)
            {
                interlock.Refuse("inputs", "is empty; an interlock watches at least one input");
            }
            else if (list.Items.Count > MostInputs)
            {
                interlock.Refuse("inputs", $"has {list.Items.Count} inputs; at most {MostInputs} are allowed, split it");
            }
        }

        return inputs;
    }

    /// <summary>Stop categories: IEC 60204-1, 9.2.2; an emergency stop is of category 0 or 1 there (9.2.3.4.2).</summary>
    private static int ReadStopCategory(ObjectReader interlock, InterlockKind? kind)
    {
        var category = interlock.Integer("stopCategory", new NumberRange(0, 2, "(IEC 60204-1)"), "0, 1 or 2 as in IEC 60204-1");
        if (category == 2 && kind == InterlockKind.EmergencyStop)
        {
            interlock.Refuse("stopCategory", "an emergency stop must not be of category 2, which keeps power on (IEC 60204-1); give 0 or 1");
        }

        return category ?? 0;
    }

    private int[] ReadAxes(ObjectReader interlock)
    {
        var node = interlock.Require("axes", "\"all\", or the names of the axes it stops");
        if (node is null)
        {
            return [];
        }

        if (node.Kind == NodeKind.Text && node.Text == AllAxes)
        {
            return [.. Enumerable.Range(0, axes.Count)];
        }

        if (node.Kind != NodeKind.Array)
        {
            file.Errors.WrongKind(node, "\"all\" or an array of axis names");
            return [];
        }

        if (node.Items.Count == 0)
        {
            file.Errors.Add(node, "is empty; an interlock stops at least one axis");
        }

        return ReadAxisNames(node);
    }

    private int[] ReadAxisNames(Node list)
    {
        var once = new UsedOnce<string>(file.Errors);
        var known = axes.Select(axis => axis.Name ?? "").ToList();
        var indices = new List<int>();
        foreach (var node in list.Items)
        {
            if (Values.Text(node, file.Errors) is not { } name)
            {
                continue;
            }

            var index = known.IndexOf(name);
            if (index < 0)
            {
                file.Errors.Add(node, $"no axis {Show.Quoted(name)}{Nearest.Hint(name, [.. known.Where(axis => axis.Length > 0)])}");
                continue;
            }

            once.Note(name, node, _ => $"axis {Show.Quoted(name)} is listed twice");
            indices.Add(index);
        }

        return [.. indices.Distinct()];
    }

    private InputReference? ReadResetInput(ObjectReader interlock, InterlockKind? kind)
    {
        var node = interlock.Find("resetInput");
        if (node is null && kind is InterlockKind.EmergencyStop or InterlockKind.Guard)
        {
            interlock.Require("resetInput", "emergency stops and guards are reset by a button wired at the machine, never from afar");
        }

        var input = inputReader.Read(node);
        if (input is not null && interlock.Find("inputs")?.Items.Any(item => item.Kind == NodeKind.Text && item.Text == input.Text) == true)
        {
            file.Errors.Add(node!, $"{Show.Quoted(input.Text)} is also an input of this interlock; the reset button is a contact of its own");
        }

        return input;
    }
}
