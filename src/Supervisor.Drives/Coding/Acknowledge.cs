using Supervisor.Drives.Exchange;

namespace Supervisor.Drives.Coding;

/// <summary>The bit by which a drive acknowledges one of its command bits: 1 once it took the edge, 0 once it saw the command bit taken back.</summary>
internal readonly struct Acknowledge(BitSlot bit, DriveFlags flag)
{
    /// <summary>False when the drive does not acknowledge this command.</summary>
    public bool IsDeclared => bit.IsDeclared;

    /// <summary>Its flag where the bit stands in the registers.</summary>
    public DriveFlags Read(ReadOnlySpan<ushort> registers) => bit.Get(registers) ? flag : DriveFlags.None;

    /// <summary>True when the drive shows it.</summary>
    public bool IsGiven(in DriveFeedback feedback) => IsDeclared && feedback.Has(flag);

    /// <summary>True when a new edge may be given: the drive was seen without it, or never gives it.</summary>
    public bool IsFree(in DriveFeedback feedback, bool fresh) => !IsDeclared || (fresh && !feedback.Has(flag));
}
