using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads interlocks.</summary>
internal sealed class InterlockReader(LoadedFile file, InputAge age, IReadOnlyList<AxisDraft> axes, IReadOnlyList<ModuleDraft> modules)
{
    private const int MostInputs = 16;

    private static readonly Choices<InterlockKind> Kinds = new(
        ("emergencyStop", InterlockKind.EmergencyStop), ("guard", InterlockKind.Guard), ("process", InterlockKind.Process));

    private readonly UsedOnce<string> names = new(file.Errors);
    private readonly InputReader inputReader = new(file, axes, modules);
    private readonly AxisListReader axisList = new(file.Errors, axes);

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
        var timing = new InterlockTiming(interlock, age);
        var stopped = axisList.Read(
            interlock.Require("axes", "\"all\", or the names of the axes it stops"), "an interlock stops at least one axis");
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
            OffDelay = timing.ReadOffDelay(kind),
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
