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
    private readonly Queue<(TimeSpan At, byte[] Bytes)> _inbound = new();

    public SimulatedPort(EventQueue queue, PortStepper stepper, SimulatedLine line, int port, ulong seed)
    {
        _queue = queue;
        _stepper = stepper;
        _line = line;
        _wire = new FaultyWire(line, WireFaults.None, seed);
        _port = port;
    }

    /// <summary>Called with every request frame the moment it begins.</summary>
    public Action<WireFrame>? FrameBegun { get; set; }

    /// <summary>The device can't be opened, and an open one is gone.</summary>
    public bool IsUnplugged
    {
        get => _line.IsUnplugged;
        set => _line.IsUnplugged = value;
    }

    /// <summary>The process that ran this port is gone: nothing more happens on it.</summary>
    public bool IsHeld { get; set; }

    /// <summary>What happens to a request between the wire and the drive; null: nothing.</summary>
    public Func<WireFrame, Interference>? Interfere { get; set; }

    /// <summary>The faults of the wire.</summary>
    public FaultyWire Wire => _wire;

    /// <summary>Bytes the stepper itself allocated on the managed heap.</summary>
    public long StepperAllocatedBytes { get; private set; }

    /// <summary>Transactions ended.</summary>
    public long Transactions { get; private set; }

    /// <summary>Begins to run.</summary>
    public void Start() => _queue.After(TimeSpan.Zero, Step);

    private void Step()
    {
        if (IsHeld)
        {
            return;
        }

        var before = GC.GetAllocatedBytesForCurrentThread();
        var step = _stepper.Next(_queue.Now);
        StepperAllocatedBytes += GC.GetAllocatedBytesForCurrentThread() - before;
        switch (step.Kind)
        {
            case PortStepKind.Wait:
                _queue.At(step.Until > _queue.Now ? step.Until : _queue.Now + TimeSpan.FromTicks(1), Step);
                break;
            case PortStepKind.Open:
                _stepper.Opened(!IsUnplugged, _queue.Now);
                _queue.After(TimeSpan.FromTicks(1), Step);
                break;
            default:
                _stepper.Master.Begin(step.Transaction!, _queue.Now);
                Drive(step.Transaction!);
                break;
        }
    }

    private void Drive(Transaction transaction)
    {
        var master = _stepper.Master;
        var step = master.Next(_queue.Now);
        switch (step.Action)
        {
            case MasterAction.Discard:
                master.Discarded(TakeArrived(), _queue.Now);
                var at = master.Next(_queue.Now) is { Action: MasterAction.Discard } again && again.Until > _queue.Now ? again.Until : _queue.Now;
                _queue.At(at, () => Drive(transaction));
                break;
            case MasterAction.Send:
                Send(transaction);
                break;
            case MasterAction.Listen:
                Listen(transaction, step.Until);
                break;
            default:
                var before = GC.GetAllocatedBytesForCurrentThread();
                _stepper.Completed(_queue.Now);
                StepperAllocatedBytes += GC.GetAllocatedBytesForCurrentThread() - before;
                Transactions++;
                Step();
                break;
        }
    }

    private void Send(Transaction transaction)
    {
        var begun = _queue.Now;
        FrameBegun?.Invoke(new WireFrame(begun, _port, transaction.RequestFrame.ToArray()));
        if (IsUnplugged)
        {
            _stepper.Master.LinkGone(begun);
            Drive(transaction);
            return;
        }

        var heard = begun + _stepper.Line.CharacterTime(transaction.RequestFrame.Length);
        _stepper.Master.Sent(begun, begun);
        _queue.At(heard, () =>
        {
            var length = Answer(transaction, begun, out var replyAt);
            if (length > 0)
            {
                _inbound.Enqueue((replyAt, _reply.AsSpan(0, length).ToArray()));
            }

            Drive(transaction);
        });
    }

    private int Answer(Transaction transaction, TimeSpan begun, out TimeSpan replyAt)
    {
        replyAt = _queue.Now + TimeSpan.FromMilliseconds(1);
        var interference = Interfere?.Invoke(new WireFrame(begun, _port, transaction.RequestFrame.ToArray())) ?? Interference.None;
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

    private void Listen(Transaction transaction, TimeSpan deadline)
    {
        if (IsUnplugged)
        {
            _stepper.Master.LinkGone(_queue.Now);
            Drive(transaction);
            return;
        }

        if (_inbound.TryPeek(out var next) && next.At <= deadline)
        {
            _queue.At(next.At, () =>
            {
                var bytes = _inbound.Dequeue().Bytes;
                bytes.AsSpan(0, Math.Min(bytes.Length, _stepper.Master.Space.Length)).CopyTo(_stepper.Master.Space);
                _stepper.Master.Received(Math.Min(bytes.Length, _stepper.Master.Space.Length), _queue.Now);
                Drive(transaction);
            });
            return;
        }

        _queue.At(deadline, () =>
        {
            _stepper.Master.Silent(_queue.Now);
            Drive(transaction);
        });
    }

    private int TakeArrived()
    {
        var count = 0;
        while (_inbound.TryPeek(out var next) && next.At <= _queue.Now)
        {
            count += _inbound.Dequeue().Bytes.Length;
        }

        return count;
    }
}
