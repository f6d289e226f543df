namespace Supervisor.Records.Faults;

/// <summary>A parameter in a drive that was not what the machine file fixes.</summary>
/// <param name="Index">Index in the drive definition's parameters.</param>
/// <param name="Wanted">The machine file's value, in the parameter's unit.</param>
/// <param name="Found">The drive's value, in the parameter's unit.</param>
/// <param name="Measure">What was done about it; <see cref="ParameterMeasure.None"/>: there is no difference.</param>
public readonly record struct ParameterDifference(short Index, double Wanted, double Found, ParameterMeasure Measure);

/// <summary>What was done about a difference.</summary>
public enum ParameterMeasure : byte
{
    /// <summary>There is none, or nobody looked yet.</summary>
    None = 0,

    /// <summary>The machine file's value was written and read back.</summary>
    Written = 1,

    /// <summary>The drive keeps its own value, as the machine file says.</summary>
    Left = 2,

    /// <summary>The axis is faulted, as the machine file says.</summary>
    Refused = 3,

    /// <summary>The value was written, and the drive did not take it.</summary>
    NotTaken = 4,

    /// <summary>A stored register that may not be written once more.</summary>
    NotWrittenAgain = 5,

    /// <summary>A stored register of a drive that is not the one known here: not written before a person has accepted the drive.</summary>
    HeldBack = 6,
}
