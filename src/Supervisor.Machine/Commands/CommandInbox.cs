using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Commands;

/// <summary>
/// The way from the threads that submit to the coordinator: a bounded ring for commands, whose producers <see cref="MachineControl"/>
/// makes one by its lock, and a lock-free list for stops, which is never full and waits for nobody.
/// </summary>
internal sealed class CommandInbox
{
    private readonly SpscRing<Slot> _commands = new(256);
    private PendingCommand? _stops;
    private long _lastId;
    private volatile bool _isClosed;
    private volatile bool _isShuttingDown;

    /// <summary>Commands are refused from now on; stops are still taken.</summary>
    public bool IsShuttingDown
    {
        get => _isShuttingDown;
        set => _isShuttingDown = value;
    }

    /// <summary>Nobody reads any more.</summary>
    public bool IsClosed => _isClosed;

    /// <summary>A fresh id. Any thread.</summary>
    public ulong NextId() => (ulong)Interlocked.Increment(ref _lastId);

    /// <summary>Posts a command; false when there is no room. One thread at a time.</summary>
    public bool TryPost(PendingCommand command) => _commands.TryWrite(new Slot(command));

    /// <summary>Posts a stop whose requests are already in the latch. Any thread, no lock.</summary>
    public void PostStop(PendingCommand stop)
    {
        PendingCommand? head;
        do
        {
            head = Volatile.Read(ref _stops);
            stop.NextStop = head;
        }
        while (Interlocked.CompareExchange(ref _stops, stop, head) != head);

        if (_isClosed)
        {
            EndStops();
        }
    }

    /// <summary>Takes the oldest command. Coordinator only.</summary>
    public bool TryTake(out PendingCommand command)
    {
        var taken = _commands.TryRead(out var slot);
        command = slot.Command;
        return taken;
    }

    /// <summary>Takes all stops posted so far as a list linked by <see cref="PendingCommand.NextStop"/>; null when there are none.</summary>
    public PendingCommand? TakeStops() => Volatile.Read(ref _stops) is null ? null : Interlocked.Exchange(ref _stops, null);

    /// <summary>Ends what is still inside. The caller holds the lock of the producers.</summary>
    public void Close()
    {
        _isShuttingDown = true;
        _isClosed = true;
        while (TryTake(out var command))
        {
            command.Refuse(Refusal.ShuttingDown, -1, Sentences.ShuttingDown);
        }

        EndStops();
    }

    private void EndStops()
    {
        for (var stop = TakeStops(); stop is not null; stop = stop.NextStop)
        {
            // It was accepted when it was given: it can't be refused any more.
            stop.End(new CommandAnswer(
                stop.Id, Outcome.Failed, Refusal.ShuttingDown, FaultCode.None, -1,
                "the supervisor has ended: the stop was passed on to the ports, but nobody is left to confirm it", null));
        }
    }

    private readonly record struct Slot(PendingCommand Command);
}
