using Supervisor.Bus.Rtu;
using Supervisor.Runtime.Ports;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.World;

/// <summary>Runs a port's stepper and master over a simulated line by the event queue: what the port's thread does on a real one.</summary>
public sealed class SimulatedPort
{
    private readonly EventQueue _queue;
    private readonly PortStepper _stepper;
    private readonly SimulatedLine _line;
    private readonly FaultyWire _wire;
    private readonly int _port;
    private readonly byte[] _reply = new byte[600];
    private readonly Queue<Arrival> _inbound = new();
    private readonly Stack<byte[]> _spare = new();
    private readonly Action _step;
    private readonly Action _drive;
    private readonly Action _heard;
    private readonly Action _receive;
    private readonly Action _silent;
    private Transaction? _transaction;

    public SimulatedPort(EventQueue queue, PortStepper stepper, SimulatedLine line, int port, ulong seed)
    {
        _queue = queue;
        _stepper = stepper;
        _line = line;
        _wire = new FaultyWire(line, WireFaults.None, seed);
        _port = port;

        // Made once: a port takes hundreds of steps in a simulated second.
        (_step, _drive, _heard, _receive, _silent) = (Step, Drive, Heard, Receive, Silent);
    }

    /// <summary>Called with every request frame the moment it begins.</summary>
    public FrameWatcher? FrameBegun { get; set; }

    /// <summary>Called after every transaction, once the stepper has taken its end.</summary>
    public Action<int>? TransactionEnded { get; set; }

    /// <summary>The device can't be opened, and an open one is gone.</summary>
    public bool IsUnplugged
    {
        get => _line.IsUnplugged;
        set => _line.IsUnplugged = value;
    }

    /// <summary>The adapter hears what it sends.</summary>
    public bool HearsItself { get; set; }

    /// <summary>How long opening the device takes; the port goes on stepping meanwhile.</summary>
    public TimeSpan OpeningTakes { get; set; }

    /// <summary>The process that ran this port is gone: nothing more happens on it.</summary>
    public bool IsHeld { get; set; }

    /// <summary>Until then the port's thread gets no time: a computer that is busy with something else.</summary>
    public TimeSpan PausedUntil { get; set; }

    /// <summary>What happens to a request between the wire and the drive; null: nothing.</summary>
    public Func<WireFrame, Interference>? Interfere { get; set; }

    /// <summary>The faults of the wire.</summary>
    public FaultyWire Wire => _wire;

    /// <summary>Bytes the stepper itself allocated on the managed heap.</summary>
    public long StepperAllocatedBytes { get; private set; }

    /// <summary>Transactions ended.</summary>
    public long Transactions { get; private set; }

    /// <summary>Begins to run.</summary>
    public void Start() => _queue.After(TimeSpan.Zero, _step);

    private void Step()
    {
        if (IsHeld)
        {
            return;
        }

        if (_queue.Now < PausedUntil)
        {
            _queue.At(PausedUntil, _step);
            return;
        }

        var before = GC.GetAllocatedBytesForCurrentThread();
        var step = _stepper.Next(_queue.Now);
        StepperAllocatedBytes += GC.GetAllocatedBytesForCurrentThread() - before;
        switch (step.Kind)
        {
            case PortStepKind.Wait:
                _queue.At(step.Until > _queue.Now ? step.Until : _queue.Now + TimeSpan.FromTicks(1), _step);
                break;
            case PortStepKind.Open:
                Open();
                _queue.After(TimeSpan.FromTicks(1), _step);
                break;
            default:
                _transaction = step.Transaction!;
                _stepper.Master.Begin(_transaction, _queue.Now);
                Drive();
                break;
        }
    }

    private void Open()
    {
        if (OpeningTakes == TimeSpan.Zero)
        {
            _stepper.Opened(!IsUnplugged, _queue.Now);
            return;
        }

        _queue.After(OpeningTakes, () =>
        {
            if (!IsHeld)
            {
                _stepper.Opened(!IsUnplugged, _queue.Now);
            }
        });
    }

    private void Drive()
    {
        if (IsHeld)
        {
            return;
        }

        var master = _stepper.Master;
        var step = master.Next(_queue.Now);
        switch (step.Action)
        {
            case MasterAction.Discard:
                master.Discarded(TakeArrived(), _queue.Now);
                var again = master.Next(_queue.Now);
                if (again.Action == MasterAction.Discard && again.Until > _queue.Now)
                {
                    _queue.At(again.Until, _drive);
                }
                else
                {
                    Drive();
                }

                break;
            case MasterAction.Send:
                Send();
                break;
            case MasterAction.Listen:
                Listen(step.Until);
                break;
            default:
                var before = GC.GetAllocatedBytesForCurrentThread();
                _stepper.Completed(_queue.Now);
                StepperAllocatedBytes += GC.GetAllocatedBytesForCurrentThread() - before;
                Transactions++;
                TransactionEnded?.Invoke(_port);
                Step();
                break;
        }
    }

    private void Send()
    {
        var begun = _queue.Now;
        if (!_stepper.IsStillWanted)
        {
            _stepper.Master.Withdraw(begun);
            Drive();
            return;
        }

        FrameBegun?.Invoke(begun, _port, _transaction!.RequestFrame);
        if (IsUnplugged)
        {
            _stepper.Master.LinkGone(begun);
            Drive();
            return;
        }

        _stepper.Master.Sent(begun, begun);
        _queue.At(begun + _stepper.Line.CharacterTime(_transaction!.RequestFrame.Length), _heard);
    }

    /// <summary>The drives have heard the whole request, whether or not the one who sent it still lives.</summary>
    private void Heard()
    {
        if (HearsItself)
        {
            Bring(_transaction!.RequestFrame, _queue.Now);
        }

        var length = Answer(_transaction!, out var replyAt);
        if (length > 0)
        {
            Bring(_reply.AsSpan(0, length), replyAt);
        }

        Drive();
    }

    private void Bring(ReadOnlySpan<byte> frame, TimeSpan at)
    {
        var bytes = _spare.Count > 0 ? _spare.Pop() : new byte[_reply.Length];
        frame.CopyTo(bytes);
        _inbound.Enqueue(new Arrival(at, bytes, frame.Length));
    }

    private int Answer(Transaction transaction, out TimeSpan replyAt)
    {
        replyAt = _queue.Now + TimeSpan.FromMilliseconds(1);
        var interference = Interfere?.Invoke(new WireFrame(transaction.BegunAt, _port, transaction.RequestFrame.ToArray())) ?? Interference.None;
        switch (interference.Kind)
        {
            case InterferenceKind.LoseRequest:
                return 0;
            case InterferenceKind.LoseReply:
                _ = _wire.Answer(transaction.RequestFrame, _queue.Now, _reply, out replyAt);
                return 0;
            case InterferenceKind.Exception:
                _reply[0] = transaction.Unit;
                _reply[1] = (byte)(transaction.Function | 0x80);
                _reply[2] = interference.Code;
                return Crc16.Append(_reply, 3);
            default:
                return _wire.Answer(transaction.RequestFrame, _queue.Now, _reply, out replyAt);
        }
    }

    private void Listen(TimeSpan deadline)
    {
        if (IsUnplugged)
        {
            _stepper.Master.LinkGone(_queue.Now);
            Drive();
        }
        else if (_inbound.TryPeek(out var next) && next.At <= deadline)
        {
            _queue.At(next.At, _receive);
        }
        else
        {
            _queue.At(deadline, _silent);
        }
    }

    private void Receive()
    {
        var arrival = TakeOne();
        var space = _stepper.Master.Space;
        var length = Math.Min(arrival.Length, space.Length);
        arrival.Bytes.AsSpan(0, length).CopyTo(space);
        _stepper.Master.Received(length, _queue.Now);
        Drive();
    }

    private void Silent()
    {
        _stepper.Master.Silent(_queue.Now);
        Drive();
    }

    private int TakeArrived()
    {
        var count = 0;
        while (_inbound.TryPeek(out var next) && next.At <= _queue.Now)
        {
            count += TakeOne().Length;
        }

        return count;
    }

    private Arrival TakeOne()
    {
        var arrival = _inbound.Dequeue();
        _spare.Push(arrival.Bytes);
        return arrival;
    }

    private readonly record struct Arrival(TimeSpan At, byte[] Bytes, int Length);
}

/// <summary>Sees a request frame the moment its first byte goes out. The bytes are the sender's own: copy what is kept.</summary>
public delegate void FrameWatcher(TimeSpan at, int port, ReadOnlySpan<byte> bytes);
