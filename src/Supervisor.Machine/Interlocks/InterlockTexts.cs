using Supervisor.Configuration.Machines;

namespace Supervisor.Machine.Interlocks;

/// <summary>What a person is told about an interlock: what is the matter, and what to do.</summary>
internal static class InterlockTexts
{
    /// <summary>Every input.</summary>
    public const ulong All = ulong.MaxValue;

    /// <summary>Texts of inputs, with " (silent)" behind those that do not answer.</summary>
    public static IReadOnlyList<string> InputList(InterlockMonitor interlock, ulong mask)
    {
        var texts = new List<string>();
        for (var i = 0; i < interlock.Definition.Inputs.Count; i++)
        {
            var bit = 1UL << i;
            if ((mask & bit) != 0)
            {
                var isSilent = ((interlock.Silent | interlock.Unread) & bit) != 0;
                texts.Add(isSilent ? $"{interlock.Definition.Inputs[i].Text} (silent)" : interlock.Definition.Inputs[i].Text);
            }
        }

        return texts;
    }

    /// <summary>The same as one text.</summary>
    public static string Inputs(InterlockMonitor interlock, ulong mask) => string.Join(", ", InputList(interlock, mask));

    /// <summary>What is the matter, such as "the front guard is open (gantry.input1)".</summary>
    public static string Condition(InterlockMonitor interlock)
    {
        var name = Name(interlock.Definition);
        return interlock switch
        {
            { HasDiscrepancy: true } => $"the channels of {name} disagreed ({Inputs(interlock, All)})",
            { IsReallyOpen: true } => $"{name} is open ({Inputs(interlock, interlock.Open)})",
            { Unread: not 0 } => $"{name} was not read yet ({Inputs(interlock, interlock.Unread)})",
            { Open: not 0 } => $"{name} counts as open because its input does not answer ({Inputs(interlock, interlock.Open)})",
            _ => $"{name} waits for its reset",
        };
    }

    /// <summary>What to do about it, as the end of a sentence.</summary>
    public static string Remedy(InterlockMonitor interlock)
    {
        var first = interlock switch
        {
            { HasDiscrepancy: true } => "have both contacts and their wiring checked, open both together, close both",
            { IsReallyOpen: true } => "close it",
            { Open: not 0 } => $"see that {Inputs(interlock, interlock.Silent | interlock.Unread).Replace(" (silent)", "", StringComparison.Ordinal)} answers",
            _ => "",
        };
        var needsReset = interlock.IsStanding;
        return (first.Length > 0, needsReset) switch
        {
            (true, true) => $"{first}, then {HowToReset(interlock.Definition)}",
            (true, false) => first,
            _ => HowToReset(interlock.Definition),
        };
    }

    /// <summary>One sentence for the operator; empty when nothing is to do.</summary>
    public static string WhatToDo(InterlockMonitor interlock)
    {
        if (interlock is { Open: 0, IsStanding: false, HasDiscrepancy: false })
        {
            return "";
        }

        var condition = Condition(interlock);
        return $"{char.ToUpperInvariant(condition[0])}{condition[1..]}: {Remedy(interlock)}.";
    }

    /// <summary>How it is reset, as the end of a sentence.</summary>
    public static string HowToReset(InterlockDefinition interlock) => interlock switch
    {
        { ResetInput: { } button } => $"press and release the reset button ({button.Text})",
        { Kind: InterlockKind.Process } => "reset it by the command reset",
        _ => "give it a reset input in the machine file: it cannot be reset without one",
    };

    /// <summary>Names a process condition as what it is: "the vacuum is open" would mislead.</summary>
    public static string Name(InterlockDefinition interlock) =>
        interlock.Kind == InterlockKind.Process ? $"the interlock {interlock.Name}" : $"the {interlock.Name}";
}
