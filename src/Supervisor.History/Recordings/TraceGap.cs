namespace Supervisor.History.Recordings;

/// <summary>Cycles of an axis without a sample.</summary>
/// <param name="Axis">Index of the axis in the recording.</param>
/// <param name="From">Monotonic time of the last sample before, or the recording's begin.</param>
/// <param name="To">Monotonic time of the first sample behind, or the recording's end.</param>
/// <param name="Cycles">Cycles that are missing.</param>
/// <param name="Cause">Why.</param>
public readonly record struct TraceGap(int Axis, TimeSpan From, TimeSpan To, int Cycles, GapCause Cause);

/// <summary>Why samples are missing.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum GapCause : byte
{
    None = 0,

    /// <summary>They were there, and were overwritten before anyone kept them: the board was too busy.</summary>
    Overtaken = 1,

    /// <summary>The drive or its port was lost; a silent drive is asked ever more seldom.</summary>
    Offline = 2,

    /// <summary>The port did not come to the axis in that cycle, or skipped the cycle.</summary>
    NotExchanged = 3,

    /// <summary>There was no sample yet: the supervisor had just begun, or its port was not open.</summary>
    NotBegun = 4,
}
