using Supervisor.Configuration.Machines;

namespace Supervisor.Simulation.Modules;

/// <summary>A row of bits at an address, single or packed in registers.</summary>
/// <param name="start">Address of the first bit or register.</param>
/// <param name="bits">How many.</param>
/// <param name="packing">How they lie in registers.</param>
internal sealed class BitBank(ushort start, int bits, BitPacking packing)
{
    /// <summary>The levels.</summary>
    public bool[] Levels { get; } = new bool[bits];

    /// <summary>Whether single bits lie in the row.</summary>
    public bool HoldsBits(int from, int count) => from >= start && from + count <= start + bits;

    /// <summary>Whether registers lie in the row.</summary>
    public bool HoldsRegisters(int from, int count) => from >= start && from + count <= start + packing.Registers(bits);

    public bool this[int address]
    {
        get => Levels[address - start];
        set => Levels[address - start] = value;
    }

    /// <summary>A register of the row.</summary>
    public ushort Register(int address)
    {
        var word = 0;
        for (var bit = 0; bit < bits; bit++)
        {
            var (register, place) = packing.PlaceOf(bit, bits);
            word |= register == address - start && Levels[bit] ? 1 << place : 0;
        }

        return (ushort)word;
    }

    /// <summary>Sets the bits of a register of the row.</summary>
    public void SetRegister(int address, ushort word)
    {
        for (var bit = 0; bit < bits; bit++)
        {
            var (register, place) = packing.PlaceOf(bit, bits);
            Levels[bit] = register == address - start ? ((word >> place) & 1) != 0 : Levels[bit];
        }
    }
}
