using Supervisor.Configuration.Machines;
using Supervisor.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Drives.Exchange;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;

namespace Supervisor.Runtime.Axes;

/// <content>The zero: what proves that it was kept, and what loses it.</content>
public sealed partial class Axis
{
    private BitSlot _batteryBit;
    private ushort _batteryCode;
    private ReferenceNote _noted;
    private bool _isJudged;
    private bool _mayHaveRestarted;

    /// <summary>Begins with what was known when the supervisor last ran. It counts only once the drive has been met and proves it.</summary>
    private void Remember(in ReferenceNote note)
    {
        _noted = note;
        _serialKnown = note.SerialKnown;
        _serialNumber = note.SerialNumber;
        if (Definition.Drive.BatteryAlarm is { } alarm)
        {
            _batteryBit = Coding.Plan.FeedbackBit(alarm.Bit);
            _batteryCode = alarm.ErrorCode;
        }

        if (Definition.Reference == ReferenceKind.Absolute)
        {
            // A drive that was never noted is taken for the one the zero belongs to, and bound to it at first contact.
            _referenced = !note.IsKnown || note.Referenced;
        }
        else if (Definition.Reference == ReferenceKind.Incremental && note is { Referenced: true, UptimeKnown: true } && TellsPositionAfterRestart)
        {
            _referenced = true;
            _driveClock.Remember(note.UptimeMs, note.At);
        }
    }

    /// <summary>
    /// An endless axis may have turned its counter round while nobody counted: its register tells where it is only where
    /// whole periods fill the register.
    /// </summary>
    private bool TellsPositionAfterRestart
    {
        get
        {
            if (_scale.Period == 0)
            {
                return true;
            }

            var periods = Math.Pow(2, Coding.PositionBits) * Coding.PositionScale / _scale.ToCountRate(_scale.Period);
            return Math.Abs(periods - Math.Round(periods)) < 1e-9;
        }
    }

    /// <summary>Is it the same drive, and did it keep its zero? A reference survives only what can be proven.</summary>
    private void Judge(TimeSpan now)
    {
        var sameDrive = _serialKnown && Contact.SerialNumber is not null && Contact.SerialNumber.Raw == _serialNumber;
        var other = _serialKnown && Contact.SerialNumber is not null && !sameDrive;
        if (Contact.SerialNumber is { } serial)
        {
            _serialNumber = serial.Raw;
            _serialKnown = true;
        }

        var homed = Contact.Homed is { } flag ? flag.Raw == 1 : _feedback.Has(DriveFlags.Referenced) && Coding is BitCoding;
        _isJudged = true;
        if (other)
        {
            _referenced = false;
            _isStranger = true;
            SeeFault(FaultCode.WrongIdentity, 0, now);
        }
        else if (Definition.Reference == ReferenceKind.Incremental)
        {
            _referenced &= sameDrive && _ranThrough && homed;
        }

        WatchBattery(now);
    }

    /// <summary>
    /// Between two meetings a drive may start anew unnoticed, and lose its zero and what was set in it. One that tells its uptime is asked for it, one
    /// that tells whether it knows its zero is believed at once; any other is met anew when it has no torque after a silence that could hold a restart.
    /// </summary>
    /// <returns>False: the drive has to be met anew, and this feedback is no longer looked at.</returns>
    private bool WatchZero(TimeSpan now)
    {
        var mayHaveRestarted = _mayHaveRestarted && Contact.Uptime is null && !_feedback.Has(DriveFlags.Powered);
        _mayHaveRestarted = false;
        if (_referenced && Definition.Reference == ReferenceKind.Incremental && Coding.TellsReferenced)
        {
            return _feedback.Has(DriveFlags.Referenced) || LoseZero(now);
        }

        if (mayHaveRestarted)
        {
            LoseLink(now);
        }

        return !mayHaveRestarted;
    }

    /// <summary>The drive says that it knows its zero no longer: under torque its counter is not to be trusted, without it has started anew.</summary>
    private bool LoseZero(TimeSpan now)
    {
        if (_feedback.Has(DriveFlags.Powered))
        {
            _referenced = false;
            SeeFault(FaultCode.Encoder, _feedback.ErrorCode, now);
            return true;
        }

        DriveRestarted(now);
        return false;
    }

    /// <summary>An absolute encoder whose battery is empty may have lost its place while its drive was off.</summary>
    private void WatchBattery(TimeSpan now)
    {
        if (Definition.Reference != ReferenceKind.Absolute)
        {
            return;
        }

        if (_batteryBit.Get(_registers) || (_batteryCode != 0 && _feedback.ErrorCode == _batteryCode))
        {
            _referenced = false;
            SeeFault(FaultCode.EncoderBattery, _feedback.ErrorCode, now);
        }
    }

    /// <summary>Tells whoever keeps it when the zero was gained or lost, or belongs to another drive.</summary>
    private void NoteReference()
    {
        if (!_isJudged || Definition.Reference == ReferenceKind.None
            || (_noted.IsKnown && _noted.Referenced == _referenced && _noted.SerialKnown == _serialKnown && _noted.SerialNumber == _serialNumber))
        {
            return;
        }

        _noted = new ReferenceNote
        {
            Version = _noted.Version + 1,
            Referenced = _referenced,
            SerialKnown = _serialKnown,
            SerialNumber = _serialNumber,
            UptimeKnown = _driveClock.IsKnown,
            UptimeMs = _driveClock.UptimeMs,
            At = _driveClock.At,
        };
        _board.References[Index].Write(_noted);
    }
}
