using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime;
using Supervisor.Runtime.Outputs;

namespace Supervisor.Machine.Outputs;

/// <summary>One named output: what was ordered of it last, and what is told of it. It switches on only by an order or where the machine file says so; never because its place comes back.</summary>
internal sealed class NamedOutput(MachineBoard board, int index, IJournal journal)
{
    // A drive's cycle and its repeats, or a module's; longer than any line of 10 s would be asked for at all.
    private static readonly TimeSpan ConfirmWithin = TimeSpan.FromSeconds(2);

    private bool _isOrdered;
    private bool _wanted;
    private int _losses;
    private TimeSpan _orderedAt;
    private bool _isToldUnconfirmed;

    public int Index => index;

    public OutputDefinition Definition { get; } = board.Machine.Outputs[index];

    public OutputCell Cell { get; } = board.Outputs.Cells[index];

    /// <summary>What holds it as of the last step.</summary>
    public OutputHold Hold { get; private set; }

    /// <summary>The newest order, confirmed or not, took longer than it may.</summary>
    public bool IsLate(TimeSpan now) => now - _orderedAt >= ConfirmWithin;

    /// <summary>Looks at it.</summary>
    public void Step(ulong standing, TimeSpan now)
    {
        Hold = OutputHold.Of(board, Definition, standing);
        var reading = Cell.Read();
        if (!_isOrdered)
        {
            Begin(reading, now);
        }
        else if (reading.Known && reading.Losses != _losses)
        {
            _losses = reading.Losses;
            TakeAsFound(reading, now);
        }
        else if (reading.Known && reading.On != _wanted && reading.Acknowledged == Cell.Order.Number)
        {
            TakeAsFound(reading, now);
        }

        if (Hold.Reason != HoldReason.None && (!_isOrdered || Hold.On != _wanted))
        {
            Order(Hold.On, now);
        }

        TellUnconfirmed(reading, now);
    }

    /// <summary>Orders a level; the caller has asked what holds it.</summary>
    public void Order(bool on, TimeSpan now)
    {
        _isOrdered = true;
        _wanted = on;
        _orderedAt = now;
        Cell.Want(on);
    }

    /// <summary>From the start: the file's level, or the one it was left at, once that is known.</summary>
    private void Begin(in OutputReading reading, TimeSpan now)
    {
        if (Definition.AtStart != OutputState.Hold)
        {
            Order(Definition.AtStart == OutputState.On, now);
        }
        else if (reading.Known)
        {
            Order(reading.On, now);
        }

        _losses = reading.Losses;
    }

    /// <summary>It is not as ordered, or its place was gone: what is off stays off, and what should be off is switched off.</summary>
    private void TakeAsFound(in OutputReading reading, TimeSpan now)
    {
        if (reading.On != _wanted)
        {
            journal.Fault(new FaultEvent(now, -1, -1, FaultCode.OutputChanged, 0, AxisState.Disabled, 0, 0) { Output = (short)index });
        }

        Order(_wanted && reading.On, now);
    }

    /// <summary>Told once an order; of a module its port tells it.</summary>
    private void TellUnconfirmed(in OutputReading reading, TimeSpan now)
    {
        var isUnconfirmed = _isOrdered && reading.Known && reading.Acknowledged != Cell.Order.Number && IsLate(now);
        if (isUnconfirmed && !_isToldUnconfirmed && Definition.Place.Source != OutputSource.Module)
        {
            journal.Fault(new FaultEvent(now, -1, -1, FaultCode.OutputNotConfirmed, 0, AxisState.Disabled, 0, 0) { Output = (short)index });
        }

        _isToldUnconfirmed = isUnconfirmed;
    }
}
