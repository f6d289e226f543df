using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Drives.Exchange;
using Supervisor.Runtime.Contact;

namespace Supervisor.Runtime.Parameters;

/// <summary>Works on a job, one request after the other: read, write what differs, read back; at last have it saved. Nothing allocated.</summary>
internal sealed class ParameterRun
{
    // A drive that does not answer this often in a row is taken for lost, whatever its feedback says.
    private const int MostSilences = 5;

    private readonly ExchangePlan _plan;
    private readonly Parameter[] _parameters;
    private readonly Parameter? _save;
    private ParameterJob? _job;
    private Phase _phase;
    private int _at;
    private int _frame;
    private int _silences;
    private uint _before;
    private bool _isDoubtful;
    private bool _wasSent;
    private bool _isToSave;
    private bool _mustSave;
    private bool _saveAnswered;

    public ParameterRun(ExchangePlan plan)
    {
        _plan = plan;
        _parameters = [.. plan.Drive.Parameters.Select(field => new Parameter(plan, field, null))];
        if (plan.Drive.SaveParameters is { } save)
        {
            _save = new Parameter(plan, save.Field, null);
            _save.Want((uint)save.Value);
        }
    }

    private enum Phase : byte
    {
        Read = 0,
        Write = 1,
        ReadBack = 2,
        Save = 3,
        Saving = 4,
        Ended = 5,
    }

    /// <summary>The job in hand; null when there is none.</summary>
    public ParameterJob? Job => _job;

    /// <summary>Something was sent that the drive may have taken.</summary>
    public bool HasWritten { get; private set; }

    /// <summary>Every parameter has the value it should have.</summary>
    public bool IsGood { get; private set; }

    /// <summary>Until when the drive may be silent because it saves.</summary>
    public TimeSpan BusyUntil { get; private set; }

    /// <summary>When it last came on.</summary>
    public TimeSpan MovedAt { get; private set; }

    /// <summary>Parameter that was read last; null when the last request was no read of one.</summary>
    public Parameter? JustRead { get; private set; }

    /// <param name="job">What to do.</param>
    /// <param name="mustSave">An earlier load may have ended before its save: this one saves though it finds every value there.</param>
    /// <param name="now">Monotonic time.</param>
    public void Begin(ParameterJob job, bool mustSave, TimeSpan now)
    {
        _mustSave = mustSave;
        _job = job;
        (_at, _silences, _isToSave, _saveAnswered) = (0, 0, false, false);
        (HasWritten, IsGood, MovedAt, JustRead) = (false, true, now, null);
        Turn(now);
    }

    /// <summary>Fills in the next request; false when there is none to send now.</summary>
    public bool Ask(Transaction transaction, byte unit)
    {
        switch (_phase)
        {
            case Phase.Read or Phase.ReadBack:
                Current.Read(transaction, unit);
                return true;
            case Phase.Write:
                Current.Write(transaction, unit, _frame);
                return true;
            case Phase.Save:
                _save!.Write(transaction, unit, _frame);
                return true;
            default:
                return false;
        }
    }

    /// <summary>Takes the reply to the last request.</summary>
    public void Take(Transaction transaction, TimeSpan now)
    {
        _silences = 0;
        MovedAt = now;
        JustRead = null;
        switch (_phase)
        {
            case Phase.Read or Phase.ReadBack:
                Current.TakeReply(transaction);
                JustRead = Current;
                TakeRead(now);
                break;
            case Phase.Write:
                TakeWritten(now);
                break;
            case Phase.Save when ++_frame == _save!.WriteFrames:
                _saveAnswered = true;
                BeginSaving(now);
                break;
        }
    }

    /// <summary>The drive answered with an exception that does not mean "busy".</summary>
    public void TakeException(byte code, TimeSpan now)
    {
        _silences = 0;
        MovedAt = now;
        JustRead = null;
        if (_phase == Phase.Save)
        {
            _job!.Save = ParameterOutcome.Rejected;
            IsGood = false;
            _phase = Phase.Ended;
            return;
        }

        Next(ParameterOutcome.Rejected, _phase == Phase.Read ? 0 : _before, code, now);
    }

    /// <summary>The last request was not answered, or answered "busy".</summary>
    public void TakeSilence(bool isBusy, TimeSpan now)
    {
        JustRead = null;
        if (_phase is Phase.Write or Phase.Save && !isBusy)
        {
            _wasSent = true;
            HasWritten = true;
        }

        if (_phase == Phase.Save && !isBusy)
        {
            // It may have begun to save, and every save wears its memory: it is not told again.
            BeginSaving(now);
        }
        else if (_phase == Phase.Write && !isBusy && Current.CanBeRead && Current.Field.Stored)
        {
            // It may have arrived: looked at, not repeated unseen.
            _isDoubtful = true;
            _phase = Phase.ReadBack;
        }

        _silences += isBusy ? 0 : 1;
    }

    /// <summary>True once the drive has not answered too often.</summary>
    public bool IsLost => _silences >= MostSilences;

    /// <summary>True when all is done; <paramref name="heardAt"/> is the time of the last feedback.</summary>
    public bool HasEnded(TimeSpan heardAt, TimeSpan now)
    {
        if (_phase == Phase.Saving && now >= BusyUntil && heardAt > BusyUntil)
        {
            _job!.Save = _saveAnswered ? ParameterOutcome.WrittenUnread : ParameterOutcome.Unknown;
            IsGood &= _saveAnswered;
            _phase = Phase.Ended;
        }

        return _phase == Phase.Ended;
    }

    /// <summary>Ends the job and lets it go.</summary>
    public void End(ParameterJobState state)
    {
        var job = _job!;
        if (state == ParameterJobState.Broken)
        {
            IsGood = false;
            if (_wasSent && _phase is Phase.Write or Phase.ReadBack && _at < job.Entries.Count)
            {
                job.Complete(new ParameterResult(ParameterOutcome.Unknown, _before, _before, 0));
            }
            else if (_phase is Phase.Save or Phase.Saving)
            {
                job.Save = HasWritten && _phase == Phase.Saving ? ParameterOutcome.Unknown : ParameterOutcome.Pending;
            }
        }

        _phase = Phase.Ended;
        _job = null;
        BusyUntil = TimeSpan.Zero;
        job.End(state);
    }

    private Parameter Current => _parameters[_job!.Entries[_at].Index];

    private void Turn(TimeSpan now)
    {
        (_frame, _before, _isDoubtful, _wasSent) = (0, 0, false, false);
        if (_at == _job!.Entries.Count)
        {
            // Something else in the set may have reached the drive's working memory only, such as by a first contact: saved with the rest.
            if (_job.Saves && (HasWritten || _mustSave) && _isToSave && _save is not null)
            {
                _phase = Phase.Save;
            }
            else
            {
                _phase = Phase.Ended;
            }

            MovedAt = now;
            return;
        }

        if (_job.Writes)
        {
            Current.Want(_job.Entries[_at].Raw);
        }
        else
        {
            Current.WantNothing();
        }

        _phase = Current.CanBeRead ? Phase.Read : Phase.Write;
    }

    private void TakeRead(TimeSpan now)
    {
        if (_phase == Phase.Read)
        {
            _before = Current.Raw;
            if (!_job!.Writes)
            {
                Next(ParameterOutcome.Read, _before, 0, now);
            }
            else if (Current.IsAsWanted)
            {
                Next(ParameterOutcome.AsWanted, _before, 0, now);
            }
            else
            {
                _phase = Phase.Write;
            }
        }
        else if (Current.IsAsWanted)
        {
            Next(ParameterOutcome.Written, Current.Raw, 0, now);
        }
        else if (_isDoubtful)
        {
            // The write was lost on its way: once more, now seen to be needed.
            (_isDoubtful, _frame, _phase) = (false, 0, Phase.Write);
        }
        else
        {
            Next(ParameterOutcome.NotTaken, Current.Raw, 0, now);
        }
    }

    private void TakeWritten(TimeSpan now)
    {
        HasWritten = true;
        _wasSent = true;
        if (++_frame < Current.WriteFrames)
        {
            return;
        }

        if (Current.CanBeRead)
        {
            _phase = Phase.ReadBack;
        }
        else
        {
            Next(ParameterOutcome.WrittenUnread, 0, 0, now);
        }
    }

    private void Next(ParameterOutcome outcome, uint after, byte exception, TimeSpan now)
    {
        _isToSave |= !Current.Field.Stored && outcome is not (ParameterOutcome.NotTaken or ParameterOutcome.Rejected);
        IsGood &= outcome is not (ParameterOutcome.NotTaken or ParameterOutcome.Rejected);
        _job!.Complete(new ParameterResult(outcome, _before, after, exception));
        _at++;
        Turn(now);
    }

    private void BeginSaving(TimeSpan now)
    {
        HasWritten = true;
        BusyUntil = now + _plan.Drive.SaveParameters!.Busy;
        _phase = Phase.Saving;
    }
}
