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
