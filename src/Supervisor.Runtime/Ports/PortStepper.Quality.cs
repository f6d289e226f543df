using Supervisor.Bus.Rtu;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Axes;

namespace Supervisor.Runtime.Ports;

/// <content>What share of the exchanges fails, and what that leads to.</content>
public sealed partial class PortStepper
{
    private readonly ExchangeMinutes _minutes = new();
    private long _faultsLost;

    // A single one may be a disturbance of the adapter's direction; the shares of failed exchanges count it.
    private const int OwnRequestsForWarning = 3;
    private int _ownRequests;

    private static bool IsFailed(TransactionResult result) => result is not (TransactionResult.Reply or TransactionResult.ExceptionReply);

    /// <summary>After the axis has taken its exchange.</summary>
    private void NoteQuality(Axis axis, TimeSpan now)
    {
        var unit = Array.IndexOf(_axes, axis);
        if (!axis.Online)
        {
            _quality.Lose(unit);
        }
        else if (!axis.MayBeSilent(now))
        {
            var (drive, line) = _quality.Note(unit, IsFailed(_transaction.Result));
            axis.ErrorPercent = _quality.PercentOf(unit);
            Act(axis, drive, now);
            Act(line, now);
        }
    }

    /// <summary>After a module has taken its exchange.</summary>
    private void NoteQuality(int module, TimeSpan now)
    {
        var unit = _axes.Length + module;
        if (!_modules.IsOnline(module))
        {
            _quality.Lose(unit);
            return;
        }

        var (reached, line) = _quality.Note(unit, IsFailed(_transaction.Result));
        _modules.NoteQuality(module, _quality.PercentOf(unit), _quality.LevelOf(unit), reached, now);
        Act(line, now);
    }

    /// <summary>An adapter that hears itself is told once, and until an answer comes alone.</summary>
    private void LookForOwnRequests(TimeSpan now)
    {
        if (!_master.HearsItself)
        {
            ForgetOwnRequests();
        }
        else if (_transaction.Fault == FrameFault.OwnRequest && _ownRequests < OwnRequestsForWarning && ++_ownRequests == OwnRequestsForWarning)
        {
            _snapshot.HearsItself = true;
            Warn(FaultCode.AdapterHearsItself, now);
        }
    }

    private void ForgetOwnRequests() => (_ownRequests, _snapshot.HearsItself) = (0, false);

    private static void Act(Axis axis, ErrorLevel reached, TimeSpan now)
    {
        if (reached == ErrorLevel.Warning)
        {
            axis.Warn(FaultCode.DriveErrorsFrequent, now);
        }
        else if (reached == ErrorLevel.Fault)
        {
            axis.SeeFault(FaultCode.DriveErrorsTooMany, 0, now);
        }
    }

    private void Act(ErrorLevel reached, TimeSpan now)
    {
        if (reached == ErrorLevel.Warning)
        {
            Warn(FaultCode.LineErrorsFrequent, now);
        }
        else if (reached == ErrorLevel.Fault)
        {
            foreach (var axis in _axes)
            {
                if (axis.Online)
                {
                    axis.SeeFault(FaultCode.LineErrorsTooMany, 0, now);
                }
            }
        }
    }

    private void Warn(FaultCode code, TimeSpan now)
    {
        var warning = new FaultEvent(now, -1, (short)_index, code, 0, AxisState.Disabled, 0, double.NaN);
        _faultsLost += _channel.Faults.TryWrite(warning) ? 0 : 1;
    }

    private void TellQuality(TimeSpan now)
    {
        _snapshot.ErrorPercent = _quality.Percent;
        (_snapshot.ExchangesLastMinute, _snapshot.ErrorsLastMinute) = _minutes.Of(1, now);
        (_snapshot.ExchangesLastHour, _snapshot.ErrorsLastHour) = _minutes.Of(60, now);
    }
}
