namespace Supervisor.History.Incidents;

/// <summary>How a record stands to the others of its incident, as it looked when it was written. What follows from another is a mark for whoever looks for the cause, no proof.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum Relation : byte
{
    /// <summary>It belongs to the incident: what was done about it, what moved or stopped meanwhile.</summary>
    None = 0,

    /// <summary>It leads. Where several say so the last one does: it was told later, but seen earlier, or it is the loss of the port that explains the one before.</summary>
    Leads = 1,

    /// <summary>A fault of its own, within the window.</summary>
    Further = 2,

    /// <summary>The hardware of an interlock took the power.</summary>
    HardwareStop = 3,

    /// <summary>The line was lost for another of its drives as well, or the whole port.</summary>
    SameLine = 4,

    /// <summary>The axis had failed already.</summary>
    SameAxis = 5,

    /// <summary>An axis of its group had failed, and the group was stopped.</summary>
    SameGroup = 6,

    /// <summary>Drives of other axes told of their supply as well.</summary>
    SameSupply = 7,

    /// <summary>The zone's other axis had failed.</summary>
    ZoneOfAnother = 8,

    /// <summary>The drives' power had been dropped.</summary>
    PowerTaken = 9,

    /// <summary>The same as before, after the axis had been cleared.</summary>
    Again = 10,

    /// <summary>An interlock opened because its inputs are on a drive that was lost.</summary>
    LostInput = 11,
}

/// <summary>Which incident a record belongs to.</summary>
/// <param name="Incident">Sequence number of the incident's first record; null: none.</param>
/// <param name="Relation">How it stands to the others.</param>
/// <param name="Follows">Sequence number of the record it follows from, which need not belong to the incident; null: from none.</param>
public readonly record struct Placement(long? Incident, Relation Relation = Relation.None, long? Follows = null)
{
    /// <summary>True for what follows from another fault or from an interlock: never the cause to look for first.</summary>
    public bool IsConsequence => Relation is not (Relation.None or Relation.Leads or Relation.Further);
}
