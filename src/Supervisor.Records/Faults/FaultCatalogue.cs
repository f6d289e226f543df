using System.Collections.Frozen;

namespace Supervisor.Records.Faults;

/// <summary>Every fault the supervisor can name. Fixed in code; texts may change, codes and classes are part of records.</summary>
public static class FaultCatalogue
{
    private static readonly FrozenDictionary<FaultCode, FaultEntry> ByCode = new[]
    {
        [new FaultEntry(FaultCode.None, "no fault", FaultClass.None, FaultPriority.None, FaultUrgency.None, "Nothing is wrong.", [], "Nothing is to do.")],
        LineFaults.Entries,
        DriveFaults.Entries,
        SupervisionFaults.Entries,
        MachineFaults.Entries,
    }.SelectMany(block => block).ToFrozenDictionary(entry => entry.Code);

    /// <summary>All entries in the order of their numbers; the first is <see cref="FaultCode.None"/>.</summary>
    public static IReadOnlyList<FaultEntry> Entries { get; } = [.. ByCode.Values.OrderBy(entry => entry.Code)];

    /// <summary>The entry of a code. A number this version does not know, as a newer one may have stored, gets an entry that says so.</summary>
    public static FaultEntry Entry(FaultCode code) => ByCode.TryGetValue(code, out var entry) ? entry : Unknown(code);

    /// <summary>The class of a code; <see cref="FaultClass.Grave"/> for a number this version does not know.</summary>
    public static FaultClass ClassOf(FaultCode code) => ByCode.TryGetValue(code, out var entry) ? entry.Class : FaultClass.Grave;

    /// <summary>Whether an axis with this fault may ever come back without a person; false for a number this version does not know.</summary>
    public static bool MayRecover(FaultCode code) => ByCode.TryGetValue(code, out var entry) && entry.MayRecover;

    /// <summary>How axis and group stop; as for <see cref="FaultClass.Grave"/> for a number this version does not know.</summary>
    public static FaultReaction ReactionTo(FaultCode code) => ByCode.TryGetValue(code, out var entry) ? entry.Reaction : FaultReaction.Of(FaultClass.Grave);

    /// <summary>Names a drive's CiA 402 error code (object 603Fh); 0, as from a drive that reports a fault and gives no reason, is a <see cref="FaultCode.DriveFault"/>.</summary>
    public static FaultCode FromCia402(ushort errorCode) => Cia402ErrorCodes.ToFaultCode(errorCode);

    private static FaultEntry Unknown(FaultCode code) => new(
        code, $"fault {(ushort)code}", FaultClass.Grave, FaultPriority.Medium, FaultUrgency.Now,
        "This version of the supervisor does not know this number; a newer one may have recorded it.",
        ["a newer version wrote this history", "the history file was changed by hand"],
        "Look the number up with the version that recorded it.");
}
