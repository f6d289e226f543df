using Supervisor.Bus.Rtu;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;

namespace Supervisor.Runtime.Modules;

/// <content>Its coming and going: what a silence leads to, and what is told of it.</content>
internal sealed partial class ModuleStation
{
    /// <summary>The port was opened: whatever became of the module, it is asked at once.</summary>
    public void Reopened(TimeSpan now)
    {
        _unanswered = 0;
        _since = now;
        _isLossTold = false;
        _polledAt = TimeSpan.MinValue;
        MeetAnew();
    }

    /// <summary>The device is gone. That is told of the port; what the module does meanwhile is not known.</summary>
    public void LoseLink()
    {
        _isLossTold = true;
        Lose();
    }

    /// <summary>Trips what is open or silent too long, and tells of a module that no longer answers.</summary>
    public void Judge(TimeSpan now)
    {
        _inputs?.Judge(now);
        if (_snapshot.Online && now - _snapshot.AnsweredAt > _lossAfter)
        {
            Lose();
            TellLoss(now);
        }
        else if (!_snapshot.Online && !_isLossTold && _since is { } since && now - since > FirstMeeting)
        {
            TellLoss(now);
        }
    }

    /// <summary>Once a loss. One that refuses what it is asked is not lost: that is told as it is.</summary>
    private void TellLoss(TimeSpan now)
    {
        _isLossTold = true;
        if (_refusals == 0)
        {
            Tell(FaultCode.ModuleLost, now);
        }
    }

    private void Lose()
    {
        _snapshot.Losses += _snapshot.Online ? 1 : 0;
        _snapshot.Online = false;
        MeetAnew();
        Publish();
    }

    private void MeetAnew()
    {
        _stage = ModuleStage.Unmet;
        _outputs?.Lose();
        _timeout?.Restart();
        _identity?.Restart();
        _retryTimeoutAt = TimeSpan.Zero;
    }

    /// <summary>
    /// Takes what it tells of itself. Until it is what its definition accepts none of its inputs is read and none of its outputs is set; another one is
    /// asked again at its next turn, as it may have been exchanged.
    /// </summary>
    /// <returns>True when it is.</returns>
    private bool TakeIdentity(Transaction transaction, TimeSpan now)
    {
        var result = _identity!.Take(transaction);
        if (result != IdentityResult.Other)
        {
            return result == IdentityResult.AsDefined;
        }

        IsDue = false;
        if (_refusals < FailuresForFault)
        {
            Tell(FaultCode.ModuleRefuses, now, identity: _identity.Difference);
        }

        Lose();
        _isLossTold = true;
        _refusals = FailuresForFault;
        return false;
    }

    private void Publish()
    {
        _snapshot.OutputsReady = _outputs is not null && _stage == ModuleStage.Ready;
        _board.Modules[_index].Write(_snapshot);
    }

    private void Tell(FaultCode code, TimeSpan now, byte detail = 0, IdentityDifference identity = default)
    {
        var fault = new FaultEvent(now, -1, (short)_module.Port, code, detail, AxisState.Disabled, 0, double.NaN) { Module = (short)_index, Identity = identity };
        FaultsLost += _channel.Faults.TryWrite(fault) ? 0 : 1;
    }
}
