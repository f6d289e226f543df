using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;

namespace Supervisor.Runtime.Modules;

/// <content>What is asked of it, and when.</content>
internal sealed partial class ModuleStation
{
    /// <summary>An output is ordered otherwise than it is, or was just set: this comes before the drives' exchanges.</summary>
    public bool IsOutputDue(TimeSpan now) =>
        _stage == ModuleStage.Ready && !IsMissing && _outputs is not null && (_outputs.IsWritten || (_writes < MostWritesPerCycle && (now >= _writeAt ? _outputs.IsDue : _outputs.IsNewDue)));

    /// <summary>A new cycle begins.</summary>
    public void BeginCycle(TimeSpan now)
    {
        _attempts = 0;
        _writes = 0;
        var isTime = _polledAt == TimeSpan.MinValue || now - _polledAt >= _module.Poll - (_port.Cycle / 2);
        if (isTime && (!IsMissing || now >= _askAgainAt))
        {
            _polledAt = now;
            _isPolled = false;
            IsDue = true;
        }
    }

    /// <summary>Fills in the due request of this cycle.</summary>
    public ModuleRequest AskDue(Transaction transaction, TimeSpan now)
    {
        if (_identity is { IsPassed: false })
        {
            _identity.Ask(transaction, _module.Address);
            return ModuleRequest.Identity;
        }

        if (!_isPolled && _inputs is not null)
        {
            _inputs.Ask(transaction);
            return ModuleRequest.Inputs;
        }

        switch (Extra(now))
        {
            case ModuleRequest.Timeout:
                _timeout!.Ask(transaction);
                return ModuleRequest.Timeout;
            case ModuleRequest.Feed:
                _outputs!.AskFeed(transaction);
                return ModuleRequest.Feed;
            default:
                return AskSign(transaction);
        }
    }

    /// <summary>Behind the first request of its turn goes at most one other.</summary>
    private void EndTurn(ModuleRequest request, TimeSpan now)
    {
        var isOfTheTurn = IsDue && request is not (ModuleRequest.Output or ModuleRequest.Confirm);
        if (isOfTheTurn && !_isPolled)
        {
            _isPolled = true;
            IsDue = Extra(now) != ModuleRequest.None;
        }
        else if (isOfTheTurn)
        {
            IsDue = false;
        }
    }

    /// <summary>What is to be asked besides the inputs.</summary>
    private ModuleRequest Extra(TimeSpan now)
    {
        if (_stage == ModuleStage.Barred && now >= _retryTimeoutAt)
        {
            _timeout!.Again();
            _stage = ModuleStage.SettingTimeout;
        }

        var feeds = _module.CommunicationTimeout;
        return _stage switch
        {
            ModuleStage.SettingTimeout => ModuleRequest.Timeout,
            ModuleStage.ReadingOutputs => ModuleRequest.ReadBack,
            ModuleStage.Ready when feeds is { FedBy: TimeoutFeed.Write } && _outputs!.IsKnown && now - _wroteAt >= feeds.Timeout / FeedsPerTimeout => ModuleRequest.Feed,
            ModuleStage.Ready when _outputs is not null && now - _checkedAt >= CheckInterval => ModuleRequest.ReadBack,
            _ => ModuleRequest.None,
        };
    }

    /// <summary>Asks for something that shows whether the module is as it was left: its outputs and its time, in turn.</summary>
    private ModuleRequest AskSign(Transaction transaction)
    {
        var isReadBack = _outputs is { CanReadBack: true } && (_timeout is null || !_isTimeNext || _stage != ModuleStage.Ready);
        if (!isReadBack)
        {
            _timeout!.AskTime(transaction);
            return ModuleRequest.Time;
        }

        _outputs!.AskReadBack(transaction);
        return ModuleRequest.ReadBack;
    }
}
