using System.Numerics;

namespace Supervisor.Runtime.Stops;

/// <summary>
/// The stops of a machine, written by whoever sees one and read by every stepper before every transaction. Lock-free.
/// </summary>
/// <remarks>
/// A cause (an interlock, a group fault, the shut-down) is a sticky count of trips beside the count at its last reset: it stands while
/// the two differ. A trip that falls between reading and resetting therefore survives the reset. Requests to bring one axis to rest are
/// one count per axis: an event to be acted on once. A halt is no more than that; a stop also locks the axis until it is released, and
/// the release names the count it was given at, so that a stop that came after it still holds.
/// </remarks>
public sealed class StopLatch
{
    /// <summary>Most causes one machine can have: the bits of a mask.</summary>
    public const int MaximumCauses = 64;

    private readonly int[] _trips;
    private readonly int[] _resets;
    private readonly long[] _stopRequests;
    private readonly int[] _released;
    private readonly int[] _cuts;
    private int _generation;

    /// <param name="causes">Number of causes, at most 64.</param>
    /// <param name="axes">Number of axes.</param>
    public StopLatch(int causes, int axes)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThan(causes, MaximumCauses);
        _trips = new int[causes];
        _resets = new int[causes];
        _stopRequests = new long[axes];
        _released = new int[axes];
        _cuts = new int[axes];
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

    /// <summary>Asks one axis to stop in order, keep torque, and stay until it is released. Any thread. Returns the epoch that the axis will have acted on.</summary>
    public int RequestStop(int axis) => Request(axis, locks: true);

    /// <summary>Asks one axis to come to rest in order and keep torque; a later move may follow, even before it rests. Any thread. Returns the epoch.</summary>
    public int RequestHalt(int axis) => Request(axis, locks: false);

    /// <summary>Asks one axis to give up its torque at once: an axis of its group did not stop. Any thread.</summary>
    public void RequestCut(int axis)
    {
        Interlocked.Increment(ref _cuts[axis]);
        Interlocked.Increment(ref _generation);
    }

    /// <summary>Cuts of torque asked of an axis so far.</summary>
    public int CutEpoch(int axis) => Volatile.Read(ref _cuts[axis]);

    /// <summary>Stops and halts asked of an axis so far.</summary>
    public int StopEpoch(int axis) => EpochOf(Volatile.Read(ref _stopRequests[axis]));

    /// <summary>True while an axis was stopped and not released since.</summary>
    public bool IsLocked(int axis) => unchecked(LockOf(Volatile.Read(ref _stopRequests[axis])) - Volatile.Read(ref _released[axis])) > 0;

    /// <summary>Releases an axis from the stops up to <paramref name="epochSeen"/>; a later one still holds. The axis's stepper only.</summary>
    public void Release(int axis, int epochSeen)
    {
        if (unchecked(epochSeen - _released[axis]) > 0)
        {
            Volatile.Write(ref _released[axis], epochSeen);
            Interlocked.Increment(ref _generation);
        }
    }

    private int Request(int axis, bool locks)
    {
        // The count and what it locks change in one step: nobody sees a stop that does not hold yet.
        long before, after;
        do
        {
            before = Volatile.Read(ref _stopRequests[axis]);
            var epoch = unchecked(EpochOf(before) + 1);
            after = ((long)epoch << 32) | (uint)(locks ? epoch : LockOf(before));
        }
        while (Interlocked.CompareExchange(ref _stopRequests[axis], after, before) != before);
        Interlocked.Increment(ref _generation);
        return EpochOf(after);
    }

    /// <summary>Upper half: the count of all requests.</summary>
    private static int EpochOf(long requests) => (int)(requests >> 32);

    /// <summary>Lower half: the count that the newest locking request made.</summary>
    private static int LockOf(long requests) => (int)requests;

    /// <summary>Lowest cause in a mask, -1 when it is empty.</summary>
    public static int First(ulong mask) => mask == 0 ? -1 : BitOperations.TrailingZeroCount(mask);
}
