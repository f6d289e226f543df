using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Drives.Exchange;

namespace Supervisor.Runtime.Contact;

/// <summary>A register of a drive that is read or written now and then, with the value it should have where the machine file says one.</summary>
public sealed class Parameter
{
    private readonly ExchangePlan _plan;
    private readonly FieldSlot _slot;
    private readonly ushort[] _wanted = new ushort[2];
    private readonly ushort[] _read = new ushort[2];

    internal Parameter(ExchangePlan plan, RegisterField field, double? wanted)
    {
        _plan = plan;
        Field = field;
        _slot = plan.ParameterSlot(field);
        HasWanted = wanted is not null && field.Access != RegisterAccess.Read;
        if (wanted is { } value)
        {
            _slot.PutValue(_wanted, value);

            // Zero often means "never": a value that is too small for the register's step becomes the smallest it can tell.
            if (value != 0 && _slot.Raw(_wanted) == 0)
            {
                _slot.PutRaw(_wanted, value > 0 ? 1u : uint.MaxValue);
            }
        }

        Index = (short)IndexOf(plan.Drive.Parameters, field);
    }

    /// <summary>Index in the drive definition's parameters; -1 for a register that is none of them.</summary>
    public short Index { get; }

    /// <summary>The definition's entry.</summary>
    public RegisterField Field { get; }

    /// <summary>True when the machine file fixes its value and the drive lets it be written.</summary>
    public bool HasWanted { get; private set; }

    /// <summary>False for a register that is only written: it can't be compared.</summary>
    public bool CanBeRead => Field.Access != RegisterAccess.Write;

    /// <summary>Raw bits as last read.</summary>
    public uint Raw => _slot.Raw(_read);

    /// <summary>A bit of its registers as last read, as the definition counts them.</summary>
    public bool Bit(int bit) => _slot.Bit(_read, bit);

    /// <summary>Value as last read, scaled.</summary>
    public double Value => _slot.Value(_read);

    /// <summary>Value it should have, scaled.</summary>
    public double WantedValue => _slot.Value(_wanted);

    /// <summary>Raw bits it should have.</summary>
    public uint WantedRaw => _slot.Raw(_wanted);

    /// <summary>Gives it a value to have from now on.</summary>
    internal void Want(uint raw)
    {
        _slot.PutRaw(_wanted, raw);
        HasWanted = true;
    }

    /// <summary>It is only to be read from now on.</summary>
    internal void WantNothing() => HasWanted = false;

    /// <summary>Bits of the value as it wraps.</summary>
    public int Bits => _slot.Bits;

    /// <summary>True when the value last read is the wanted one.</summary>
    public bool IsAsWanted => _slot.Raw(_read) == _slot.Raw(_wanted);

    /// <summary>Fills in the request that reads it.</summary>
    public void Read(Transaction transaction, byte unit)
    {
        ArgumentNullException.ThrowIfNull(transaction);
        transaction.Read(unit, Field.ReadFunction(_plan.Drive.Wire), _plan.Address(Field), (ushort)Field.Width);
    }

    /// <summary>Takes the reply of a read.</summary>
    public void TakeReply(Transaction transaction)
    {
        ArgumentNullException.ThrowIfNull(transaction);
        for (var i = 0; i < Field.Width; i++)
        {
            _read[i] = transaction.ReplyRegister(i);
        }
    }

    /// <summary>Requests that write it: two for a wide value where only single registers can be written.</summary>
    public int WriteFrames => _plan.Drive.Wire.WriteFunction == 6 ? Field.Width : 1;

    /// <summary>Fills in a request that writes the wanted value.</summary>
    public void Write(Transaction transaction, byte unit, int frame)
    {
        ArgumentNullException.ThrowIfNull(transaction);
        if (_plan.Drive.Wire.WriteFunction == 6)
        {
            var wire = _plan.Drive.Wire;
            var isTurned = wire.Split is { } split && (wire.WordOrder == WordOrder.HighFirst) != (split == WordSplit.HighThenLow);
            var word = Field.Width == 2 && isTurned ? 1 - frame : frame;
            transaction.WriteSingle(unit, (ushort)(_plan.Address(Field) + word), _wanted[word]);
        }
        else
        {
            transaction.WriteMultiple(unit, _plan.Address(Field), _wanted.AsSpan(0, Field.Width));
        }
    }

    private static int IndexOf(IReadOnlyList<RegisterField> fields, RegisterField field)
    {
        for (var i = 0; i < fields.Count; i++)
        {
            if (ReferenceEquals(fields[i], field))
            {
                return i;
            }
        }

        return -1;
    }
}
