using Supervisor.Configuration.Reading;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads what may be recovered without a person. Left out: nothing.</summary>
internal sealed class RecoveryReader(ObjectReader axis, FileErrors errors)
{
    private static readonly Choices<FaultClass> Recoverable = new(
        ("link", FaultClass.Link),
        ("restart", FaultClass.Restart),
        ("supply", FaultClass.Supply),
        ("temperature", FaultClass.Temperature),
        ("following", FaultClass.Following),
        ("timeOut", FaultClass.TimeOut),
        ("drive", FaultClass.Drive));

    private static readonly string[] NeverRecovered = ["grave", "daemon"];

    private static readonly Choices<RecoveryAction> Actions = new(
        ("reset", RecoveryAction.Reset), ("resetAndEnable", RecoveryAction.ResetAndEnable), ("resetAndHome", RecoveryAction.ResetAndHome));

    private readonly UsedOnce<FaultClass> classes = new(errors);

    public IReadOnlyList<RecoveryDefinition> Read()
    {
        var entries = new List<RecoveryDefinition>();
        foreach (var node in axis.Items("recovery"))
        {
            if (ObjectReader.Open(node, MachineShapes.Recovery, errors) is { } entry)
            {
                entries.Add(ReadEntry(entry));
            }
        }

        return entries;
    }

    private RecoveryDefinition ReadEntry(ObjectReader entry)
    {
        var faults = new List<FaultClass>();
        var nodes = entry.Items("faults", "classes of faults to recover from");
        foreach (var node in nodes)
        {
            if (ReadClass(node) is { } fault)
            {
                classes.Note(fault, node, line => $"{Show.Quoted(node.Text)} already has a recovery in line {line}");
                faults.Add(fault);
            }
        }

        if (entry.Find("faults") is { Kind: NodeKind.Array, Items.Count: 0 })
        {
            entry.Refuse("faults", $"is empty; name classes of {Show.List(Recoverable.Words)}");
        }

        var attempts = entry.Integer("attempts", new NumberRange(1, 100, ""), "how often it may be tried");
        var within = entry.Number("withinMs", NumberRange.Above0(Milliseconds.Unit, 86_400_000), "time in which the attempts are counted");
        var then = entry.Choice("then", Actions, $"what to do, one of {Show.List(Actions.Words)}");
        return new RecoveryDefinition(faults, attempts ?? 0, Milliseconds.ToTime(within), then ?? default);
    }

    private FaultClass? ReadClass(Node node)
    {
        if (node.Kind == NodeKind.Text && NeverRecovered.Contains(node.Text))
        {
            errors.Add(node, $"{Show.Quoted(node.Text)} faults are never recovered without a person; take it out");
            return null;
        }

        return Values.Choice(node, Recoverable, errors);
    }
}
