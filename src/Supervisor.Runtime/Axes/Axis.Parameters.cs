using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;
using Supervisor.Drives;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Runtime.Axes;

/// <content>The drive's parameters: differences from the machine file, told and held against the axis; and jobs that read or load a set.</content>
public sealed partial class Axis
{
    private static readonly TimeSpan CompareInterval = TimeSpan.FromSeconds(2);

    // A cycle with no time left for slow requests never ends a job; whoever waits for it is told.
    private static readonly TimeSpan JobPatience = TimeSpan.FromSeconds(5);

    // Every one of a cycle's slow requests delays its neighbours' second exchanges.
    private const int JobRequestsPerCycle = 4;

    private readonly ParameterCell _parameters;
    private readonly ParameterRun _run;
    private ParameterDifference _seenParameter;
    private int _jobRequests;
    private int _standingDifferences;
    private bool _isSetIncomplete;
    private bool _tellsIncomplete;
    private IReadOnlyList<ParameterEntry> _incompleteEntries = [];
    private bool _incompleteSaves;
    private bool _isComparing;
    private bool _isStranger;
    private TimeSpan _comparedAt;

    /// <summary>A job or a comparison that may write is under way: nothing else may be begun.</summary>
    private bool IsParameterWork => _run.Job is not null || (_isComparing && Contact.MayWrite);

    /// <summary>Why a reset would clear what still stands.</summary>
    private bool HoldsParameterFault => _standingDifferences > 0 || _isSetIncomplete;

    /// <summary>A load that nobody saw end: the drive may hold a mixture, and what its counts mean is not known. Told once the drive is met.</summary>
    private void RememberUnfinished(UnfinishedSet? set)
    {
        if (set is not null)
        {
            BeIncomplete(set.Entries, set.Saves);
            _tellsIncomplete = true;
            _referenced = false;
        }
    }

    private void BeIncomplete(IReadOnlyList<ParameterEntry> entries, bool saves)
    {
        _isSetIncomplete = true;
        _incompleteEntries = entries;
        _incompleteSaves = saves && NeedsSaving(entries);
    }

    private bool NeedsSaving(IReadOnlyList<ParameterEntry> entries)
    {
        for (var i = 0; i < entries.Count; i++)
        {
            if (!Definition.Drive.Parameters[entries[i].Index].Stored)
            {
                return true;
            }
        }

        return entries.Count == 0;
    }

    /// <summary>
    /// True when a job has read the whole set that was begun, as it was to be. Whether a drive has saved what it holds can't be read: where it was to
    /// be told so, only another load ends it.
    /// </summary>
    private bool ProvesTheSet(ParameterJob job)
    {
        if (_incompleteSaves || _incompleteEntries.Count == 0)
        {
            return false;
        }

        for (var i = 0; i < _incompleteEntries.Count; i++)
        {
            if (!HasRead(job, _incompleteEntries[i]))
            {
                return false;
            }
        }

        return true;
    }

    private bool HasRead(ParameterJob job, in ParameterEntry wanted)
    {
        var field = Definition.Drive.Parameters[wanted.Index];
        for (var i = 0; i < job.Entries.Count; i++)
        {
            if (job.Entries[i].Index == wanted.Index && job.Result(i) is { Outcome: ParameterOutcome.Read } read && field.ValueOf(read.After) == field.ValueOf(wanted.Raw))
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>Takes a posted job, or gives up one that does not come on.</summary>
    private void LookAtJob(TimeSpan now)
    {
        _jobRequests = 0;
        if (_run.Job is not null)
        {
            if (_run.HasEnded(_freshAt, now))
            {
                EndJob(ParameterJobState.Done, now);
            }
            else if (_run.IsLost || now - _run.MovedAt > JobPatience + (_run.BusyUntil > TimeSpan.Zero ? Definition.Drive.SaveParameters!.Busy : TimeSpan.Zero))
            {
                EndJob(ParameterJobState.Broken, now);
            }
        }
        else if (!(_isComparing && Online) && _parameters.Job is { State: ParameterJobState.Posted } posted)
        {
            // A comparison under way ends soon; the job waits for it.
            var refusal = RefuseJob(posted);
            if (refusal != Refusal.None)
            {
                posted.Refuse(refusal);
            }
            else if (posted.TryTake())
            {
                _run.Begin(posted, _isSetIncomplete && _incompleteSaves, now);
            }
        }
    }

    private Refusal RefuseJob(ParameterJob job) =>
        !Online ? Refusal.AxisOffline
        : _node is not (AxisNode.Off or AxisNode.FaultOff) || _feedback.Has(DriveFlags.Powered) ? Refusal.NotDisabled
        : job.ExpectedSerial is { } serial && Contact.SerialNumber?.Raw != serial ? Refusal.InvalidArgument
        : Refusal.None;

    /// <summary>Fills in the next request of a job or a comparison.</summary>
    private AxisRequest AskParameter(Transaction transaction, TimeSpan now)
    {
        if (_jobRequests >= JobRequestsPerCycle)
        {
            return AxisRequest.None;
        }

        if (_run.Job is not null)
        {
            return !_feedback.Has(DriveFlags.Powered) && _run.Ask(transaction, Unit) ? AxisRequest.Parameter : AxisRequest.None;
        }

        if (!_isComparing && _standingDifferences > 0 && now - _comparedAt >= CompareInterval)
        {
            Compare(mayWrite: false);
        }

        if (!_isComparing)
        {
            return AxisRequest.None;
        }

        Contact.Ask(transaction, Unit);
        return AxisRequest.Contact;
    }

    private void Compare(bool mayWrite)
    {
        _isComparing = true;
        RestartContact(mayWrite, unlocks: false);
    }

    /// <summary>A person has accepted the drive that is there, and what it may have written was held back until then.</summary>
    private void AcceptDrive()
    {
        _isStranger = false;
        Compare(mayWrite: true);
    }

    private void RestartContact(bool mayWrite, bool unlocks)
    {
        if (!_isStranger)
        {
            Contact.ExpectedSerial = _serialKnown ? _serialNumber : null;
        }

        Contact.Restart(mayWrite, unlocks);
    }

    private void TakeParameter(Transaction transaction, TimeSpan now)
    {
        if (_run.Job is null)
        {
            return;
        }

        if (transaction.Result == TransactionResult.Reply)
        {
            _run.Take(transaction, now);
        }
        else
        {
            _run.TakeException(transaction.ExceptionCode, now);
        }

        if (_run.JustRead is { } read)
        {
            Show(read, now);
        }
    }

    /// <summary>The drive is met or met anew: what was under way has ended with its answers.</summary>
    private void BreakParameterWork(TimeSpan now)
    {
        _isComparing = false;
        if (_run.Job is not null)
        {
            EndJob(ParameterJobState.Broken, now);
        }
    }

    private void EndJob(ParameterJobState state, TimeSpan now)
    {
        var job = _run.Job!;
        // What the drive was not seen to save it forgets in part at its next restart.
        var isSaved = job.Save is not (ParameterOutcome.Rejected or ParameterOutcome.Unknown);
        if (state == ParameterJobState.Done && isSaved && (job.Writes || (_isSetIncomplete && ProvesTheSet(job))))
        {
            _isSetIncomplete = false;
        }
        else if (job.Writes && _run.HasWritten)
        {
            BeIncomplete(job.Entries, job.Saves);
        }

        job.LeavesSetWhole = !_isSetIncomplete;
        _run.End(state);
        if (!job.Writes)
        {
            return;
        }

        if (_run.HasWritten)
        {
            // What a count means may have changed with the set: the zero is proven anew.
            _referenced = false;
            _hasTarget = false;
        }

        if (!_run.IsGood && _run.HasWritten)
        {
            Tell(FaultCode.ParametersIncomplete, default, now);
        }

        if (Online)
        {
            AcceptDrive();
        }

        Publish();
    }

    /// <summary>Takes the result of a comparison: differences are told, those that stand keep the axis out of use.</summary>
    private void JudgeParameters(TimeSpan now)
    {
        _isComparing = false;
        _comparedAt = now;
        if (_tellsIncomplete)
        {
            _tellsIncomplete = false;
            if (_isSetIncomplete)
            {
                Tell(FaultCode.ParametersIncomplete, default, now);
            }
        }

        _standingDifferences = 0;
        foreach (var entry in Contact.Entries)
        {
            _standingDifferences += entry.Stands ? 1 : 0;
        }

        foreach (var entry in Contact.Entries)
        {
            if (entry.Parameter.CanBeRead)
            {
                Show(entry, now);
            }

            if (entry.IsToTell)
            {
                entry.IsToTell = false;
                var difference = new ParameterDifference(entry.Parameter.Index, entry.Parameter.WantedValue, entry.Found, entry.Measure);
                Tell(entry.Stands ? FaultCode.ParameterDiffers : FaultCode.ParameterFoundDifferent, difference, now);
            }
        }
    }

    /// <summary>A fault that can't take the place of the one that is latched is told beside it: no difference is silent.</summary>
    private void Tell(FaultCode code, in ParameterDifference difference, TimeSpan now)
    {
        var latches = code != FaultCode.ParameterFoundDifferent && (_fault == FaultCode.None || _node == AxisNode.FaultClearing || IsGraver(code));
        if (latches)
        {
            _seenParameter = difference;
            SeeFault(code, 0, now);
            _seenParameter = default;
        }
        else
        {
            Tell(new FaultEvent(now, Index, (short)Definition.Port, code, 0, _node.State(), _inHand.Id, Position) { Parameter = difference }, latched: false);
        }
    }

    private void Show(ContactEntry entry, TimeSpan now) => _parameters.Known[entry.Parameter.Index].Write(
        new ParameterSnapshot { At = now, Raw = entry.Parameter.Raw, Writes = entry.Writes, Measure = entry.Measure });

    private void Show(Parameter read, TimeSpan now)
    {
        var known = _parameters.Known[read.Index].Read();
        known.At = now;
        known.Raw = read.Raw;
        _parameters.Known[read.Index].Write(known);
    }
}
