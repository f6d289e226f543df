using Supervisor.Bus.Rtu;
using Supervisor.Records.Faults;

namespace Supervisor.Runtime.Modules;

/// <content>Its outputs: first the communication time-out, then what they are, then what is ordered.</content>
internal sealed partial class ModuleStation
{
    /// <summary>Fills in what sets outputs, or reads back what was set.</summary>
    public ModuleRequest AskOutput(Transaction transaction)
    {
        if (_outputs!.IsWritten)
        {
            _outputs.AskReadBack(transaction);
            return ModuleRequest.Confirm;
        }

        _outputs.AskWrite(transaction);
        return ModuleRequest.Output;
    }

    private void TakeTime(Transaction transaction, TimeSpan now)
    {
        _checkedAt = now;
        _isTimeNext = false;
        if (_stage == ModuleStage.Ready && !_timeout!.IsKept(transaction))
        {
            FoundChanged(now);
        }
    }

    private void TakeTimeout(Transaction transaction, TimeSpan now)
    {
        _timeout!.Take(transaction);
        if (_timeout.Stage == TimeoutStage.Set)
        {
            _retryTimeoutAt = TimeSpan.Zero;
            ReadOutputs(now);
        }
        else if (_timeout.Stage == TimeoutStage.Failed)
        {
            _stage = ModuleStage.Barred;
            if (_retryTimeoutAt == TimeSpan.Zero)
            {
                Tell(FaultCode.ModuleTimeoutUnverified, now, transaction.ExceptionCode);
            }

            _retryTimeoutAt = now + RetryInterval;
        }
    }

    private void TakeOutputs(Transaction transaction, TimeSpan now)
    {
        _checkedAt = now;
        _isTimeNext = true;
        if (_stage == ModuleStage.ReadingOutputs)
        {
            Meet(transaction, now);
        }
        else if (_stage == ModuleStage.Ready)
        {
            var wasWritten = _outputs!.IsWritten;
            if (!_outputs.Take(transaction, now))
            {
                FoundChanged(now);
            }
            else if (wasWritten)
            {
                JudgeFailures(now);
            }
        }
    }

    private void BeginMeeting(TimeSpan now)
    {
        if (_outputs is null)
        {
            _stage = ModuleStage.Ready;
        }
        else if (_timeout is not null)
        {
            _stage = ModuleStage.SettingTimeout;
        }
        else
        {
            ReadOutputs(now);
        }
    }

    private void ReadOutputs(TimeSpan now)
    {
        _stage = ModuleStage.ReadingOutputs;
        if (!_outputs!.CanReadBack)
        {
            Meet(null, now);
        }
    }

    private void Meet(Transaction? transaction, TimeSpan now)
    {
        _outputs!.Meet(transaction, now);
        _stage = ModuleStage.Ready;
        _checkedAt = now;
        _wroteAt = now;
        _writeAt = now;
    }

    private void JudgeFailures(TimeSpan now)
    {
        if (_outputs!.Failures < FailuresForFault)
        {
            return;
        }

        _writeAt = now + RetryInterval;
        if (_outputs.Failures == FailuresForFault)
        {
            Tell(FaultCode.ModuleOutputNotTaken, now);
            if (_timeout is not null)
            {
                // Some take no output after their time-out ran out until it is armed anew.
                _timeout.Again();
                _stage = ModuleStage.SettingTimeout;
            }
        }
    }

    /// <summary>It has started anew, or its time-out ran out, or somebody else commands it: what was ordered is void until it is ordered again.</summary>
    private void FoundChanged(TimeSpan now)
    {
        _snapshot.Restarts++;
        Tell(FaultCode.ModuleRestarted, now);
        MeetAnew();
        BeginMeeting(now);
    }
}
