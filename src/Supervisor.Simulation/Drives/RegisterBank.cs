using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;

namespace Supervisor.Simulation.Drives;

/// <summary>
/// The words of a drive: exactly the registers its definition declares. Feedback can be read, commands can be written,
/// parameters as they say; whatever is not declared answers with exception 2 (illegal data address), and so does a write to what is only read.
/// </summary>
internal sealed class RegisterBank : IRegisterMap
{
    /// <summary>Illegal data address.</summary>
    public const byte IllegalAddress = 2;

    /// <summary>Illegal data value: the standard's answer to a wrong quantity.</summary>
    public const byte IllegalValue = 3;

    private readonly DriveDefinition _definition;
    private readonly Dictionary<int, int> _slots = [];
    private readonly HashSet<int> _gaps = [];
    private readonly List<bool> _readable = [];
    private readonly List<bool> _writable = [];
    private ushort[] _words;

    public RegisterBank(DriveDefinition definition)
    {
        _definition = definition;
        foreach (var field in definition.Feedback)
        {
            Declare(field, true, false);
        }

        foreach (var field in definition.Command)
        {
            Declare(field, field.Access != RegisterAccess.Write, field.Access != RegisterAccess.Read);
        }

        foreach (var field in definition.Parameters)
        {
            Declare(field, field.Access != RegisterAccess.Write, field.Access != RegisterAccess.Read);
        }

        if (definition.SaveParameters is { } save)
        {
            Declare(save.Field, false, true);
        }

        foreach (var write in definition.Unlock?.Writes ?? [])
        {
            Declare(write.Field, false, true);
        }

        _words = new ushort[_readable.Count];
        DeclareGaps();
    }

    /// <summary>A declared field of that name (feedback, command, parameter, in this order), or null.</summary>
    public RegisterValue? Find(string name) => Bind(
        _definition.FeedbackField(name) ?? _definition.CommandField(name) ?? _definition.Parameter(name));

    /// <summary>A feedback field or a parameter: what the drive tells.</summary>
    public RegisterValue? Told(string name) => Bind(_definition.FeedbackField(name) ?? _definition.Parameter(name));

    /// <summary>A command field or a parameter: what the drive is told.</summary>
    public RegisterValue? Commanded(string name) => Bind(_definition.CommandField(name) ?? _definition.Parameter(name));

    /// <summary>Sets every word to 0.</summary>
    public void Clear() => Array.Clear(_words);

    /// <inheritdoc/>
    public byte Read(ushort start, Span<ushort> values)
    {
        if (values.Length > _definition.Wire.MaximumRead)
        {
            return IllegalValue;
        }

        for (int i = 0; i < values.Length; i++)
        {
            if (_slots.TryGetValue(start + i, out int slot) && _readable[slot])
            {
                values[i] = _words[slot];
            }
            else if (_gaps.Contains(start + i))
            {
                values[i] = 0;
            }
            else
            {
                return IllegalAddress;
            }
        }

        return 0;
    }

    /// <inheritdoc/>
    public byte Write(ushort start, ReadOnlySpan<ushort> values)
    {
        if (values.Length > _definition.Wire.MaximumWrite)
        {
            return IllegalValue;
        }

        for (int i = 0; i < values.Length; i++)
        {
            if (!_slots.TryGetValue(start + i, out int slot) || !_writable[slot])
            {
                return IllegalAddress;
            }
        }

        for (int i = 0; i < values.Length; i++)
        {
            _words[_slots[start + i]] = values[i];
        }

        return 0;
    }

    internal ushort this[int slot]
    {
        get => Turned(_words[slot]);
        set => _words[slot] = Turned(value);
    }

    private ushort Turned(ushort word) =>
        _definition.Wire.ByteOrder == ByteOrder.LowFirst ? System.Buffers.Binary.BinaryPrimitives.ReverseEndianness(word) : word;

    /// <summary>A declared field bound to its words; null for null.</summary>
    public RegisterValue? Bind(RegisterField? field)
    {
        if (field is null)
        {
            return null;
        }

        int address = field.Address(_definition.Wire);
        int first = _slots[address];
        int second = field.Width == 2 ? _slots[address + 1] : -1;
        return _definition.Wire.WordOrder == WordOrder.HighFirst || second < 0
            ? new RegisterValue(this, field, second < 0 ? first : second, second < 0 ? -1 : first, address)
            : new RegisterValue(this, field, first, second, address);
    }

    private void Declare(RegisterField field, bool readable, bool writable)
    {
        for (int i = 0; i < field.Width; i++)
        {
            int address = field.Address(_definition.Wire) + i;
            if (!_slots.TryGetValue(address, out int slot))
            {
                slot = _readable.Count;
                _slots.Add(address, slot);
                _readable.Add(false);
                _writable.Add(false);
            }

            _readable[slot] |= readable;
            _writable[slot] |= writable;
        }
    }

    /// <summary>Holes between feedback fields that one read can span: drives keep a block readable as a whole.</summary>
    private void DeclareGaps()
    {
        var feedback = _definition.Feedback.OrderBy(field => field.Address(_definition.Wire)).ToArray();
        for (int i = 1; i < feedback.Length; i++)
        {
            int end = feedback[i - 1].Address(_definition.Wire) + feedback[i - 1].Width;
            if (feedback[i].Address(_definition.Wire) - end >= _definition.Wire.MaximumRead)
            {
                continue;
            }

            for (int address = end; address < feedback[i].Address(_definition.Wire); address++)
            {
                if (!_slots.ContainsKey(address))
                {
                    _gaps.Add(address);
                }
            }
        }
    }
}
