namespace Supervisor.Records.Faults;

/// <summary>What is known about one fault code, in words for a technician.</summary>
/// <param name="Code">The code; its number is stored.</param>
/// <param name="Name">Short name, lower case, for tables and log lines.</param>
/// <param name="Class">What it is treated like; a machine file's recovery entries name classes.</param>
/// <param name="Priority">How urgent it is among others.</param>
/// <param name="Urgency">In what time to do what <paramref name="Remedy"/> says.</param>
/// <param name="Meaning">One sentence: what happened.</param>
/// <param name="Causes">Likely causes, the likeliest first; two to four.</param>
/// <param name="Remedy">One sentence: what to do first.</param>
public sealed record FaultEntry(
    FaultCode Code, string Name, FaultClass Class, FaultPriority Priority, FaultUrgency Urgency, string Meaning, IReadOnlyList<string> Causes, string Remedy)
{
    /// <summary>
    /// Whether a machine file may ask that the axis comes back without a person. Fixed in code: what may have hurt someone,
    /// broken something or lost the position waits for a person whatever the file says.
    /// </summary>
    public bool MayRecover => Class is not (FaultClass.None or FaultClass.Grave or FaultClass.Daemon or FaultClass.Warning);

    /// <summary>True for what is told and recorded but stops and latches nothing.</summary>
    public bool IsWarning => Class == FaultClass.Warning;

    /// <summary>How axis and group stop: as its class, where nothing else is said.</summary>
    public FaultReaction Reaction { get; init; } = FaultReaction.Of(Class);

    /// <summary>What happens instead where the machine file has the command fail without a fault; null where it has no such choice.</summary>
    public FaultReaction? AsFailedCommand { get; init; }

    /// <summary>A sentence, or two where the machine file has a choice: what axis and group do.</summary>
    public string Consequence => AsFailedCommand is not { } instead
        ? Reaction.Describe()
        : $"{Reaction.Describe()} Where the machine file has the command fail, there is no fault: {char.ToLowerInvariant(instead.Describe()[0])}{instead.Describe()[1..]}";
}
