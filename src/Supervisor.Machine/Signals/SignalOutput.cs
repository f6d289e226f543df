using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Outputs;

namespace Supervisor.Machine.Signals;

/// <summary>The output of a light or the horn. It shows what is now: after a loss of its place, and where it was changed by something else, it is ordered anew.</summary>
internal sealed class SignalOutput(OutputCell cell, int index, bool isOnModule, IJournal journal)
{
    private static readonly TimeSpan ConfirmWithin = TimeSpan.FromSeconds(2);

    private bool? _wanted;
    private int _losses;
    private TimeSpan _wellAt;
    private TimeSpan _againAt;
    private bool _isToldUnconfirmed;
    private bool _isToldChanged;

    /// <summary>As its place confirmed it.</summary>
    public OutputReading Reading => cell.Read();

    /// <summary>True unless it answers and has not confirmed what was ordered last.</summary>
    public bool IsConfirmed => cell.Read() is var reading && (!reading.Known || reading.Acknowledged == cell.Order.Number);

    /// <summary>Brings it to a level.</summary>
    public void Step(bool on, TimeSpan now)
    {
        var reading = cell.Read();
        var isAnew = reading.Known && reading.Losses != _losses;
        if (on != _wanted || isAnew)
        {
            _losses = reading.Losses;
            Order(on, now);
        }
        else if (reading.Known && reading.Acknowledged == cell.Order.Number)
        {
            LookAtLevel(reading, now);
        }

        TellUnconfirmed(reading, now);
    }

    /// <summary>Orders a level for the last time.</summary>
    public void Order(bool on, TimeSpan now)
    {
        _wellAt = _wanted is null ? now : _wellAt;
        _wanted = on;
        cell.Want(on);
    }

    /// <summary>Whoever changed it may do so again: it is told once, and ordered anew once in a while.</summary>
    private void LookAtLevel(in OutputReading reading, TimeSpan now)
    {
        _wellAt = now;
        if (reading.On == _wanted)
        {
            _isToldChanged &= now < _againAt;
            return;
        }

        if (!_isToldChanged)
        {
            Tell(FaultCode.OutputChanged, now);
        }

        if (now >= _againAt)
        {
            _againAt = now + ConfirmWithin;
            cell.Want(_wanted!.Value);
        }

        _isToldChanged = true;
    }

    /// <summary>Told once; of a module its port tells it.</summary>
    private void TellUnconfirmed(in OutputReading reading, TimeSpan now)
    {
        if (!reading.Known || reading.Acknowledged == cell.Order.Number)
        {
            (_wellAt, _isToldUnconfirmed) = (now, false);
        }
        else if (!_isToldUnconfirmed && !isOnModule && now - _wellAt >= ConfirmWithin)
        {
            _isToldUnconfirmed = true;
            Tell(FaultCode.OutputNotConfirmed, now);
        }
    }

    private void Tell(FaultCode code, TimeSpan now) =>
        journal.Fault(new FaultEvent(now, -1, -1, code, 0, AxisState.Disabled, 0, 0) { Output = (short)index });
}
