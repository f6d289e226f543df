using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Inputs;

/// <summary>Whether what must stay clear of an axis is.</summary>
public enum ClearState : byte
{
    /// <summary>Proven clear.</summary>
    Clear = 0,

    /// <summary>Proven, or to be taken, not clear.</summary>
    Blocked = 1,

    /// <summary>The other axis does not know where it stands; it stands still.</summary>
    Unproven = 2,
}

/// <summary>Judges "clear of" conditions by what every port last read. Any thread.</summary>
public static class Clearance
{
    private const int OldestCycles = 5;
    private static readonly TimeSpan LeastOldest = TimeSpan.FromMilliseconds(100);

    /// <summary>State of a condition. An input whose source is silent counts as open, an axis whose feedback is old as unproven.</summary>
    public static ClearState StateOf(MachineBoard board, ClearCondition condition, TimeSpan now)
    {
        ArgumentNullException.ThrowIfNull(board);
        ArgumentNullException.ThrowIfNull(condition);
        if (condition.Input is { } input)
        {
            var reading = board.Inputs.Read(board.Inputs.IndexOf(input));
            return reading.Closed && !reading.IsStale(now, Oldest(board, input)) ? ClearState.Clear : ClearState.Blocked;
        }

        var other = board.Axes[condition.Axis].Read();
        var isKnown = other.Online && now - other.At <= Oldest(board, condition.Axis);
        if (isKnown && other.Referenced)
        {
            return other.Position >= condition.Lower && other.Position <= condition.Upper ? ClearState.Clear : ClearState.Blocked;
        }

        return isKnown && !other.AtRest ? ClearState.Blocked : ClearState.Unproven;
    }

    private static TimeSpan Oldest(MachineBoard board, InputReference input) =>
        input.Module is { } bit ? board.Machine.Modules[bit.Module].StaleAfter : Oldest(board, input.Axis);

    /// <summary>Age from which what an axis last told counts for nothing.</summary>
    internal static TimeSpan Oldest(MachineBoard board, int axis)
    {
        var cycles = axis < 0 ? TimeSpan.Zero : board.Machine.Ports[board.Machine.Axes[axis].Port].Cycle * OldestCycles;
        return cycles > LeastOldest ? cycles : LeastOldest;
    }
}
