namespace Supervisor.Bus.Rtu;

/// <summary>What the driver of a master does next.</summary>
public enum MasterAction : byte
{
    /// <summary>The transaction has its result.</summary>
    Done = 0,

    /// <summary>Read once and throw away what comes by <see cref="MasterStep.Until"/>, then tell <see cref="RtuMaster.Discarded"/> (0 when nothing came).</summary>
    Discard = 1,

    /// <summary>Write the request frame, then tell <see cref="RtuMaster.Sent"/> or <see cref="RtuMaster.NotSent"/>.</summary>
    Send = 2,

    /// <summary>Read into <see cref="RtuMaster.Space"/>, then tell <see cref="RtuMaster.Received"/> or, when nothing came by <see cref="MasterStep.Until"/>, <see cref="RtuMaster.Silent"/>.</summary>
    Listen = 3,
}

/// <summary>One step of a master.</summary>
/// <param name="Action">What to do.</param>
/// <param name="Until">Monotonic deadline of it.</param>
public readonly record struct MasterStep(MasterAction Action, TimeSpan Until);
