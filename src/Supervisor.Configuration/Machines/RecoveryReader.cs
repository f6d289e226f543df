using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads what may be recovered without a person. Left out: nothing.</summary>
internal sealed class RecoveryReader(ObjectReader axis, FileErrors errors, DriveDefinition? drive)
{
    private const double MostMs = 86_400_000;
    private const double MostPercent = 90;

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
        var withinMs = entry.Number("withinMs", NumberRange.Above0(Milliseconds.Unit, MostMs), "time in which the attempts are counted");
        var then = entry.Choice("then", Actions, $"what to do, one of {Show.List(Actions.Words)}");
        return new RecoveryDefinition(faults, attempts ?? 0, Milliseconds.ToTime(withinMs), then ?? default)
        {
            BackOff = ReadBackOff(entry, withinMs),
            SpeedPercent = ReadSpeed(entry, faults),
        };
    }

    /// <summary>Each member left out keeps its default; a longest wait that is left out is never shorter than the first.</summary>
    private static BackOffDefinition ReadBackOff(ObjectReader entry, double withinMs)
    {
        var usual = BackOffDefinition.Default;
        if (entry.Object("backOff", MachineShapes.BackOff) is not { } backOff)
        {
            return usual;
        }

        var initialMs = backOff.Number("initialMs", new NumberRange(0, MostMs, Milliseconds.Unit), usual.Initial.TotalMilliseconds);
        var factor = backOff.Number("factor", new NumberRange(1, 10, ""), usual.Factor);
        var longestMs = backOff.Number("longestMs", NumberRange.Above0(Milliseconds.Unit, MostMs), Math.Max(usual.Longest.TotalMilliseconds, initialMs));
        var last = backOff.Find("longestMs") is null ? "initialMs" : "longestMs";
        var lastMs = last == "longestMs" ? longestMs : initialMs;
        if (initialMs > longestMs)
        {
            backOff.Refuse("initialMs", $"{Show.Number(initialMs)} ms is above longestMs {Show.Number(longestMs)} ms; the first wait is the shortest");
        }
        else if (lastMs >= withinMs)
        {
            backOff.Refuse(last, $"{Show.Number(lastMs)} ms is not below withinMs {Show.Number(withinMs)} ms: attempts would be forgotten before the next; wait shorter, or count longer");
        }

        return new BackOffDefinition(Milliseconds.ToTime(initialMs), factor, Milliseconds.ToTime(longestMs));
    }

    /// <summary>An axis that did not follow comes back slowly, so its speed must be this computer's to command.</summary>
    private double ReadSpeed(ObjectReader entry, List<FaultClass> faults)
    {
        var follows = faults.Contains(FaultClass.Following);
        if (follows && drive is not null && drive.CommandField(FieldNames.ProfileVelocity) is null)
        {
            entry.Refuse(
                "faults",
                $"\"following\" is recovered at a reduced speed, but drive {Show.Quoted(drive.Name)} declares no command field {Show.Quoted(FieldNames.ProfileVelocity)}; take \"following\" out");
        }

        if (!follows && entry.Find("speedPercent") is not null && faults.Count > 0)
        {
            entry.Refuse("speedPercent", "is the speed after a following error, which \"faults\" does not name; take it out, or name \"following\"");
        }

        return entry.Number("speedPercent", NumberRange.Above0("% of the speed asked for", MostPercent), RecoveryDefinition.DefaultSpeedPercent);
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
