using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Drives.Exchange;
using Supervisor.Records.Faults;

namespace Supervisor.Runtime.Contact;

/// <summary>What the steps of a first contact come to.</summary>
public enum ContactResult : byte
{
    UnderWay = 0,
    Complete = 1,

    /// <summary>A parameter that must have a value did not take it.</summary>
    Rejected = 2,

    /// <summary>It tells that it is another kind of drive than its definition accepts; nothing was written.</summary>
    OtherKind = 3,
}

/// <summary>
/// What is read and set, request by request, after a drive's stop went out and before it may be commanded: its identification before anything is
/// written, where the definition has one, then, register by register, serial number, uptime, homed flag, and the parameters that the machine file fixes, each compared first and written only where it differs and the file has it written.
/// </summary>
public sealed class FirstContact
{
    private readonly ContactEntry[] _entries;
    private readonly Parameter[] _unlock;
    private readonly IdentityCheck? _identity;
    private int _unlockAt;
    private int _at;
    private int _frame;
    private Phase _phase;
    private double _found;
    private bool _isIdentifying;

    internal FirstContact(ExchangePlan plan, AxisDefinition axis)
    {
        var entries = new List<ContactEntry>();
        SerialNumber = Add(plan, entries, FieldNames.SerialNumber, null);
        Uptime = Add(plan, entries, FieldNames.Uptime, null);
        Homed = Add(plan, entries, FieldNames.Homed, null);
        foreach (var (name, value) in SetByMembers(axis))
        {
            Add(plan, entries, name, value);
        }

        foreach (var parameter in axis.Parameters)
        {
            entries.Add(new ContactEntry(new Parameter(plan, parameter.Field, parameter.Value), parameter.OnDifference, isFixedByName: true));
        }

        _identity = axis.Drive.Identification is { } identification ? new IdentityCheck(identification) : null;
        _unlock = [.. (plan.Drive.Unlock?.Writes ?? []).Select(write => new Parameter(plan, write.Field, write.Value))];
        _entries = [.. entries.Where(entry => entry.Parameter.CanBeRead || entry.Parameter.HasWanted)];
        Restart();
    }

    private enum Phase : byte
    {
        Compare = 0,
        Write = 1,
        Verify = 2,
    }

    /// <summary>The drive's serial number; null when its definition has none.</summary>
    public Parameter? SerialNumber { get; }

    /// <summary>Time since the drive's start; null when its definition has none.</summary>
    public Parameter? Uptime { get; }

    /// <summary>1 while the drive knows its zero; null when its definition has none.</summary>
    public Parameter? Homed { get; }

    /// <summary>The serial number of the drive that is known here; null: any is. Stored registers of another drive are left alone.</summary>
    public uint? ExpectedSerial { get; set; }

    /// <summary>False: what differs is compared only.</summary>
    public bool MayWrite { get; private set; } = true;

    internal ReadOnlySpan<ContactEntry> Entries => _entries;

    /// <summary>Parameters that members of the axis other than <c>parameters</c> set, with the values they are given.</summary>
    public static IEnumerable<(string Name, double Value)> SetByMembers(AxisDefinition axis)
    {
        ArgumentNullException.ThrowIfNull(axis);
        var timeout = axis.Drive.Parameter(FieldNames.CommunicationTimeout);
        yield return (FieldNames.CommunicationTimeout, timeout?.Unit == "s" ? axis.CommunicationTimeout.TotalSeconds : axis.CommunicationTimeout.TotalMilliseconds);
        if (axis.Homing is { } homing)
        {
            var sign = axis.Inverted ? -1 : 1;
            yield return (FieldNames.HomingMethod, homing.Method);
            yield return (FieldNames.HomingSpeedFast, homing.Fast * axis.CountsPerUnit);
            yield return (FieldNames.HomingSpeedSlow, homing.Slow * axis.CountsPerUnit);
            yield return (FieldNames.HomingAcceleration, axis.Limits.Acceleration * axis.CountsPerUnit);
            yield return (FieldNames.HomeOffset, sign * homing.Offset * axis.CountsPerUnit);
        }
    }

    /// <summary>Begins anew.</summary>
    /// <param name="mayWrite">False: compares only.</param>
    /// <param name="unlocks">True at a meeting: it is asked what it is, then what unlocks it is written, whether it is locked or not.</param>
    public void Restart(bool mayWrite = true, bool unlocks = true)
    {
        MayWrite = mayWrite;
        _isIdentifying = unlocks && _identity is not null;
        _identity?.Restart();
        _unlockAt = unlocks ? 0 : _unlock.Length;
        Turn(0);
    }

    /// <summary>Where a parameter begins: one that can't be read is written without a look.</summary>
    private void Turn(int entry)
    {
        _at = entry;
        while (_at < _entries.Length && !_entries[_at].Parameter.CanBeRead && !MayWrite)
        {
            _at++;
        }

        _frame = 0;
        _phase = _at < _entries.Length && !_entries[_at].Parameter.CanBeRead ? Phase.Write : Phase.Compare;
    }

    /// <summary>How the device differs from what its definition accepts, while that is what the meeting is about; else the default.</summary>
    public IdentityDifference Identity => _isIdentifying ? _identity!.Difference : default;

    /// <summary>True when nothing is left to ask.</summary>
    public bool IsComplete => _at == _entries.Length && !IsUnlocking && !_isIdentifying;

    private bool IsUnlocking => _unlockAt < _unlock.Length;

    /// <summary>Fills in the next request.</summary>
    public void Ask(Transaction transaction, byte unit)
    {
        if (_isIdentifying)
        {
            _identity!.Ask(transaction, unit);
        }
        else if (IsUnlocking)
        {
            _unlock[_unlockAt].Write(transaction, unit, _frame);
        }
        else if (_phase == Phase.Write)
        {
            _entries[_at].Parameter.Write(transaction, unit, _frame);
        }
        else
        {
            _entries[_at].Parameter.Read(transaction, unit);
        }
    }

    /// <summary>Takes the reply to the last request.</summary>
    public ContactResult Take(Transaction transaction)
    {
        if (_isIdentifying)
        {
            return TakeIdentity(transaction);
        }

        if (IsUnlocking)
        {
            return TakeUnlock();
        }

        var entry = _entries[_at];
        if (_phase == Phase.Write)
        {
            _frame++;
            if (_frame < entry.Parameter.WriteFrames)
            {
                return ContactResult.UnderWay;
            }

            entry.Wrote(answered: true);
            _phase = Phase.Verify;
            return entry.Parameter.CanBeRead ? ContactResult.UnderWay : Pass();
        }

        entry.Parameter.TakeReply(transaction);
        return _phase == Phase.Verify ? Verified(entry) : Compared(entry);
    }

    /// <summary>The drive answered the last request with an exception.</summary>
    public ContactResult TakeException()
    {
        if (_isIdentifying)
        {
            _identity!.TakeException();
            return ContactResult.Rejected;
        }

        if (IsUnlocking)
        {
            return ContactResult.Rejected;
        }

        var entry = _entries[_at];
        if (_phase == Phase.Compare || entry.IsEssential)
        {
            return ContactResult.Rejected;
        }

        entry.Settle(ParameterMeasure.NotTaken, _found);
        return Pass();
    }

    /// <summary>The last request was not answered. A write that wears the drive's memory may have arrived: it is read back, not repeated unseen.</summary>
    public void TakeSilence()
    {
        if (!IsComplete && !_isIdentifying && !IsUnlocking && _phase == Phase.Write && _entries[_at].Parameter.Field.Stored)
        {
            _entries[_at].Wrote(answered: false);
            _phase = Phase.Verify;
        }
    }

    private ContactResult TakeIdentity(Transaction transaction)
    {
        var result = _identity!.Take(transaction);
        _isIdentifying = result != IdentityResult.AsDefined;
        return result == IdentityResult.Other ? ContactResult.OtherKind : IsComplete ? ContactResult.Complete : ContactResult.UnderWay;
    }

    private ContactResult TakeUnlock()
    {
        _frame++;
        if (_frame == _unlock[_unlockAt].WriteFrames)
        {
            _unlockAt++;
            _frame = 0;
        }

        return IsComplete ? ContactResult.Complete : ContactResult.UnderWay;
    }

    private ContactResult Compared(ContactEntry entry)
    {
        if (!entry.Parameter.HasWanted || entry.Parameter.IsAsWanted)
        {
            entry.AsWanted();
            return Pass();
        }

        _found = entry.Parameter.Value;
        if (WhyNotWrite(entry) is { } measure)
        {
            entry.Settle(measure, _found);
            return Pass();
        }

        _phase = Phase.Write;
        _frame = 0;
        return ContactResult.UnderWay;
    }

    /// <summary>What stands in the way of writing a parameter that differs; null: nothing.</summary>
    private ParameterMeasure? WhyNotWrite(ContactEntry entry) => entry.Action switch
    {
        DifferenceAction.Warn => ParameterMeasure.Left,
        DifferenceAction.Refuse => ParameterMeasure.Refused,
        _ when entry.Parameter.Field.Stored && ExpectedSerial is { } serial && SerialNumber is { } known && known.Raw != serial => ParameterMeasure.HeldBack,
        _ when !entry.MayWrite => entry.Measure == ParameterMeasure.NotTaken ? ParameterMeasure.NotTaken : ParameterMeasure.NotWrittenAgain,
        _ when !MayWrite => entry.Measure is ParameterMeasure.HeldBack ? ParameterMeasure.HeldBack : ParameterMeasure.NotTaken,
        _ => null,
    };

    private ContactResult Verified(ContactEntry entry)
    {
        if (entry.Parameter.IsAsWanted)
        {
            entry.Settle(ParameterMeasure.Written, _found);
            return Pass();
        }

        if (entry.IsEssential)
        {
            return ContactResult.Rejected;
        }

        if (entry.IsUnanswered && entry.MayWrite)
        {
            _phase = Phase.Write;
            _frame = 0;
            return ContactResult.UnderWay;
        }

        entry.Settle(ParameterMeasure.NotTaken, entry.Parameter.Value);
        return Pass();
    }

    private ContactResult Pass()
    {
        Turn(_at + 1);
        return IsComplete ? ContactResult.Complete : ContactResult.UnderWay;
    }

    /// <summary>Name of the parameter that is asked for.</summary>
    public string Asking => IsComplete ? "" : _isIdentifying ? "identification" : IsUnlocking ? _unlock[_unlockAt].Field.Name : _entries[_at].Parameter.Field.Name;

    private static Parameter? Add(ExchangePlan plan, List<ContactEntry> entries, string name, double? wanted)
    {
        if (plan.Drive.Parameter(name) is not { } field)
        {
            return null;
        }

        var parameter = new Parameter(plan, field, wanted);
        entries.Add(new ContactEntry(parameter, DifferenceAction.Write, isFixedByName: false));
        return parameter;
    }
}
