using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Modules;

/// <summary>A row of bits in the replies and requests of a module, single or packed in registers.</summary>
internal sealed class RegisterBits
{
    private readonly (int Register, int Bit)[] _places;
    private readonly ushort[] _registers;
    private readonly ushort[] _masks;

    /// <param name="bits">How many.</param>
    /// <param name="packing">How they lie in registers.</param>
    public RegisterBits(int bits, BitPacking packing)
    {
        _places = [.. Enumerable.Range(0, bits).Select(bit => packing.PlaceOf(bit, bits))];
        _registers = new ushort[packing.Registers(bits)];
        _masks = new ushort[_registers.Length];
        foreach (var (register, place) in _places)
        {
            _masks[register] |= (ushort)(1 << place);
        }
    }

    /// <summary>Asks for all of them by function 1 to 4.</summary>
    public void Read(Transaction transaction, byte unit, byte function, ushort start)
    {
        if (function is FunctionCode.ReadCoils or FunctionCode.ReadDiscreteInputs)
        {
            transaction.ReadBits(unit, function, start, (ushort)_places.Length);
        }
        else
        {
            transaction.Read(unit, function, start, (ushort)_registers.Length);
        }
    }

    /// <summary>One of them in the reply to <see cref="Read"/>.</summary>
    public bool Get(Transaction transaction, int bit)
    {
        if (transaction.ReplyBitCount > 0)
        {
            return transaction.ReplyBit(bit);
        }

        var (register, place) = _places[bit];
        return ((transaction.ReplyRegister(register) >> place) & 1) != 0;
    }

    /// <summary>The register that a bit lies in, from the first.</summary>
    public int RegisterOf(int bit) => _places[bit].Register;

    /// <summary>Bits of a register that are among them.</summary>
    public ushort Mask(int register) => _masks[register];

    /// <summary>The registers that hold these levels. Valid until the next call.</summary>
    public ReadOnlySpan<ushort> Pack(ReadOnlySpan<bool> levels)
    {
        Array.Clear(_registers);
        for (var bit = 0; bit < levels.Length; bit++)
        {
            var (register, place) = _places[bit];
            _registers[register] |= (ushort)((levels[bit] ? 1 : 0) << place);
        }

        return _registers;
    }
}
