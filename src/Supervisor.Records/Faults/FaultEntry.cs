namespace Supervisor.Records.Faults;

/// <summary>What is known about one fault code, in words for a technician.</summary>
/// <param name="Code">The code.</param>
/// <param name="Name">Short name, lower case, for tables and log lines.</param>
/// <param name="Class">What it is treated like; a machine file's recovery entries name classes.</param>
/// <param name="Meaning">One sentence: what happened.</param>
/// <param name="Remedy">One sentence: what to do first.</param>
public sealed record FaultEntry(FaultCode Code, string Name, FaultClass Class, string Meaning, string Remedy)
{
    /// <summary>
    /// Whether a machine file may ask that the axis comes back without a person. Fixed in code: what may have hurt someone,
    /// broken something or lost the position waits for a person whatever the file says.
    /// </summary>
    public bool MayRecover => Class is not (FaultClass.None or FaultClass.Grave or FaultClass.Daemon);
}
