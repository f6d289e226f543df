namespace Supervisor.Runtime.Contact;

/// <summary>What is known of the last proof of a brake. Fixed size: it crosses between the coordinator's thread and whoever writes it down.</summary>
public struct BrakeProofNote
{
    /// <summary>Counts the notes of an axis; 0: nothing was ever noted.</summary>
    public int Version;

    /// <summary>The time of the last proof that was passed is known.</summary>
    public bool PassedKnown;

    /// <summary>Monotonic time of the last proof that was passed; before this boot it is below zero.</summary>
    public TimeSpan PassedAt;

    /// <summary>How far the axis moved in it, unit.</summary>
    public double Movement;

    /// <summary>The brake failed since: whatever the interval says, it must be proven.</summary>
    public bool Failed;

    /// <summary>The motor alone holds the load, since the brake failed.</summary>
    public bool LoadHeld;
}
