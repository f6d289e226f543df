using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Contact;

namespace Supervisor.Machine.Brakes;

/// <summary>Whether a brake counts as proven.</summary>
public enum BrakeProofState : byte
{
    /// <summary>The machine file gives the axis no proof of its brake.</summary>
    None = 0,

    /// <summary>Proven, and the interval has not passed.</summary>
    Proven = 1,

    /// <summary>The time of the last proof is not known, and no interval is set.</summary>
    Unknown = 2,

    /// <summary>The interval has passed, or it is not known whether it has.</summary>
    Overdue = 3,

    /// <summary>The brake failed; a proof that passes is the only way out.</summary>
    Failed = 4,
}

/// <summary>What is told of the proof of a brake.</summary>
/// <param name="State">Whether it counts as proven.</param>
/// <param name="Since">Time since the last proof that was passed; null when it is not known.</param>
/// <param name="DueIn">Time until the next is due, below zero when overdue; null without an interval, or when it is not known.</param>
/// <param name="Movement">How far the axis moved in the last proof that was passed, unit; null when it is not known.</param>
public readonly record struct BrakeProofStatus(BrakeProofState State, TimeSpan? Since, TimeSpan? DueIn, double? Movement)
{
    /// <summary>What a note means now.</summary>
    public static BrakeProofStatus Of(BrakeProofDefinition? proof, in BrakeProofNote note, TimeSpan now)
    {
        if (proof is null)
        {
            return default;
        }

        TimeSpan? since = note.PassedKnown ? now - note.PassedAt : null;
        var due = proof.Every - since;
        var state = note.Failed ? BrakeProofState.Failed
            : proof.Every is not null && (due ?? TimeSpan.Zero) <= TimeSpan.Zero ? BrakeProofState.Overdue
            : since is null ? BrakeProofState.Unknown
            : BrakeProofState.Proven;
        return new BrakeProofStatus(state, since, due, note.PassedKnown ? note.Movement : null);
    }
}
