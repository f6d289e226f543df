namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>What was found, for people and for programs.</summary>
public static class DiagnoseText
{
    public static void Print(string machine, IReadOnlyList<DiagnosedThing> things, TextWriter to)
    {
        ArgumentNullException.ThrowIfNull(things);
        ArgumentNullException.ThrowIfNull(to);
        to.WriteLine($"machine \"{machine}\": read only; nothing was written to a drive, a module or an output");
        foreach (var thing in things)
        {
            to.WriteLine($"{thing.Kind} {thing.Name}{(thing.Place.Length > 0 ? $" ({thing.Place})" : "")}");
            foreach (var finding in thing.Findings)
            {
                to.WriteLine($"  {Word(finding.State),-5}  {finding.What}");
                if (finding.WhatToDo.Length > 0)
                {
                    to.WriteLine($"         {finding.WhatToDo}");
                }
            }
        }

        var wrong = Count(things, FindingState.Wrong);
        to.WriteLine(wrong switch { 0 => "nothing wrong was found", 1 => "1 thing is wrong", _ => $"{wrong} things are wrong" });
    }

    public static DiagnosisJson ToJson(string file, string machine, IReadOnlyList<DiagnosedThing> things) => new(
        file, machine, Count(things, FindingState.Wrong) == 0, Of(things, "port"), Of(things, "drive"), Of(things, "module"), Of(things, "input"), Of(things, "output"));

    /// <summary>Findings of a state.</summary>
    public static int Count(IReadOnlyList<DiagnosedThing> things, FindingState state) => things.Sum(thing => thing.Findings.Count(finding => finding.State == state));

    private static IReadOnlyList<DiagnosedJson> Of(IReadOnlyList<DiagnosedThing> things, string kind) =>
        [.. things.Where(thing => thing.Kind == kind).Select(thing => new DiagnosedJson(
            thing.Name, thing.Place, [.. thing.Findings.Select(finding => new FindingJson(Word(finding.State), finding.What, finding.WhatToDo))]))];

    private static string Word(FindingState state) => state switch
    {
        FindingState.Good => "good",
        FindingState.Note => "note",
        _ => "wrong",
    };
}

/// <summary>What a diagnosis found.</summary>
public sealed record DiagnosisJson(
    string File, string Machine, bool Good, IReadOnlyList<DiagnosedJson> Ports, IReadOnlyList<DiagnosedJson> Drives, IReadOnlyList<DiagnosedJson> Modules,
    IReadOnlyList<DiagnosedJson> Inputs, IReadOnlyList<DiagnosedJson> Outputs);

/// <summary>What was looked at.</summary>
public sealed record DiagnosedJson(string Name, string Place, IReadOnlyList<FindingJson> Findings);

/// <summary>One finding; <c>state</c> is good, note or wrong.</summary>
public sealed record FindingJson(string State, string What, string WhatToDo);
