using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Outputs;

/// <summary>
/// One digital output between the coordinator, who alone orders a level, and the thread that owns its place (a port's stepper, a GPIO chip's
/// thread), which alone writes and tells what the place confirmed. Lock-free; nothing is allocated.
/// </summary>
/// <remarks>
/// The owner, whenever it has its place anew: reads the level back and tells it by <see cref="Found"/>, before it writes anything. Then, each
/// time <see cref="IsDue"/>: writes the order's level and tells by <see cref="Acknowledge"/> that the place confirmed it. Now and then it may
/// read back and tell by <see cref="Found"/>. When the place no longer answers: <see cref="Lose"/>. Orders given before a loss are void after
/// it, so that nothing switches on by itself when a place comes back: what follows is the coordinator's to decide, who sees what was found.
/// An owner that can't read back leaves <see cref="Found"/> out.
/// </remarks>
public sealed class OutputCell
{
    private readonly SnapshotCell<OutputReading> _reading = new();

    // Bit 0: level; bits 1 to 31: count of orders; upper half: drops that the order knew of.
    private long _order;
    private int _drops;

    /// <summary>What is wanted now. Any thread.</summary>
    public OutputOrder Order
    {
        get
        {
            // In this order: a drop that comes in between is seen with the next look, and never taken for known.
            var order = Volatile.Read(ref _order);
            var drops = Volatile.Read(ref _drops);
            return new OutputOrder(CountOf(order) + drops, (order & 1) != 0 && DropsOf(order) == drops);
        }
    }

    /// <summary>Drops so far; hand it to <see cref="Want"/>.</summary>
    public int Drops => Volatile.Read(ref _drops);

    /// <summary>Orders a level; also the same one anew, which is then confirmed again. Coordinator only.</summary>
    /// <param name="on">The level.</param>
    /// <param name="dropsSeen">Drops that were known when it was decided: on counts for nothing if there was another since.</param>
    public void Want(bool on, int dropsSeen = 0)
    {
        var count = CountOf(_order) + 1;
        Volatile.Write(ref _order, ((long)dropsSeen << 32) | (count << 1) | (on ? 1L : 0));
    }

    /// <summary>Switches it off whatever was ordered, without waiting for the coordinator. Any thread.</summary>
    public void Drop() => Interlocked.Increment(ref _drops);

    /// <summary>What its place has confirmed. Any thread.</summary>
    public OutputReading Read() => _reading.Read();

    /// <summary>True when there is an order that must be written. Owner only.</summary>
    public bool IsDue(out OutputOrder order)
    {
        order = Order;
        var reading = _reading.Read();
        return order.Number > Math.Max(reading.Acknowledged, reading.Void);
    }

    /// <summary>The place has confirmed an order's level. Owner only.</summary>
    public void Acknowledge(in OutputOrder order, TimeSpan now)
    {
        var reading = _reading.Read();
        reading.Acknowledged = order.Number;
        Put(ref reading, order.On, now);
    }

    /// <summary>The place was read and has this level, whoever gave it. Owner only.</summary>
    public void Found(bool on, TimeSpan now)
    {
        var reading = _reading.Read();
        Put(ref reading, on, now);
    }

    /// <summary>The place no longer answers, or has started anew: its level is not known, and what was ordered before is void; what is ordered from now on is not. Owner only.</summary>
    public void Lose()
    {
        var reading = _reading.Read();
        if (!reading.Known)
        {
            return;
        }

        reading.Known = false;
        reading.Acknowledged = 0;
        reading.Losses++;
        reading.Void = Order.Number;
        _reading.Write(reading);
    }

    private void Put(ref OutputReading reading, bool on, TimeSpan now)
    {
        reading.ChangedAt = reading.Known && reading.On == on ? reading.ChangedAt : now;
        reading.Known = true;
        reading.On = on;
        reading.At = now;
        _reading.Write(reading);
    }

    private static long CountOf(long order) => (order >> 1) & int.MaxValue;

    private static int DropsOf(long order) => (int)(order >> 32);
}

/// <summary>A level as ordered.</summary>
/// <param name="Number">Rises with every order and drop; 0: none was given, and nothing is to be written.</param>
/// <param name="On">The level.</param>
public readonly record struct OutputOrder(long Number, bool On);

/// <summary>An output as its place has confirmed it.</summary>
public struct OutputReading
{
    /// <summary>Monotonic time of the last confirmation.</summary>
    public TimeSpan At;

    /// <summary>Monotonic time of the confirmation that first showed the present level.</summary>
    public TimeSpan ChangedAt;

    /// <summary>False until the place has confirmed a level, and after it was lost.</summary>
    public bool Known;

    /// <summary>The level, while it is known.</summary>
    public bool On;

    /// <summary>Number of the newest order that was confirmed; 0 when none was since the place was lost.</summary>
    public long Acknowledged;

    /// <summary>Orders up to this number are not written any more: their place was lost after they were given.</summary>
    public long Void;

    /// <summary>How often the place was lost.</summary>
    public int Losses;
}
