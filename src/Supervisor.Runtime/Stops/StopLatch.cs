using System.Numerics;

namespace Supervisor.Runtime.Stops;

/// <summary>
/// The stops of a machine, written by whoever sees one and read by every stepper before every transaction. Lock-free.
/// </summary>
/// <remarks>
/// A cause (an interlock, a group fault, the shut-down) is a sticky count of trips beside the count at its last reset: it stands while
/// the two differ. A trip that falls between reading and resetting therefore survives the reset. Requests to stop one axis are plain
/// counts: an event to be acted on once, not a state that holds.
/// </remarks>
public sealed class StopLatch
{
    /// <summary>Most causes one machine can have: the bits of a mask.</summary>
    public const int MaximumCauses = 64;

    private readonly int[] _trips;
    private readonly int[] _resets;
    private readonly int[] _stopRequests;
    private int _generation;

    /// <param name="causes">Number of causes, at most 64.</param>
    /// <param name="axes">Number of axes.</param>
    public StopLatch(int causes, int axes)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThan(causes, MaximumCauses);
        _trips = new int[causes];
        _resets = new int[causes];
        _stopRequests = new int[axes];
    }

    /// <summary>Changes with every trip, reset and stop request: a stepper compares it with the one it acted on.</summary>
    public int Generation => Volatile.Read(ref _generation);

    /// <summary>Trips a cause. Any thread.</summary>
    public void Trip(int cause)
    {
        Interlocked.Increment(ref _trips[cause]);
        Interlocked.Increment(ref _generation);
    }

    /// <summary>Trips of a cause so far; hand it to <see cref="Reset"/>.</summary>
    public int TripCount(int cause) => Volatile.Read(ref _trips[cause]);

    /// <summary>Resets a cause up to the trip count that was looked at; a later trip still stands. Coordinator only.</summary>
    public void Reset(int cause, int tripCountSeen)
    {
        Volatile.Write(ref _resets[cause], tripCountSeen);
        Interlocked.Increment(ref _generation);
    }

    /// <summary>True while a cause was tripped and not reset since.</summary>
    public bool IsStanding(int cause) => Volatile.Read(ref _trips[cause]) != Volatile.Read(ref _resets[cause]);

    /// <summary>Bit per standing cause.</summary>
    public ulong Standing()
    {
        var mask = 0UL;
        for (var cause = 0; cause < _trips.Length; cause++)
        {
            if (IsStanding(cause))
            {
                mask |= 1UL << cause;
            }
        }

        return mask;
    }

    /// <summary>Asks one axis to stop in order and keep torque. Any thread. Returns the epoch that the axis will have acted on.</summary>
    public int RequestStop(int axis)
    {
        var epoch = Interlocked.Increment(ref _stopRequests[axis]);
        Interlocked.Increment(ref _generation);
        return epoch;
    }

    /// <summary>Stop requests to an axis so far.</summary>
    public int StopEpoch(int axis) => Volatile.Read(ref _stopRequests[axis]);

    /// <summary>Lowest cause in a mask, -1 when it is empty.</summary>
    public static int First(ulong mask) => mask == 0 ? -1 : BitOperations.TrailingZeroCount(mask);
}
