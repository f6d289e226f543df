using Supervisor.Configuration.Drives;

namespace Supervisor.Configuration.Machines;

/// <summary>A Modbus module of digital inputs and outputs on the line of a port. Not a safety device, and neither is what is wired to it.</summary>
/// <param name="Name">Name in the machine.</param>
/// <param name="Port">Index into <see cref="MachineDefinition.Ports"/>.</param>
/// <param name="Address">Unit address on the line, 1 to 247.</param>
/// <param name="Inputs">Its inputs; null when it has none.</param>
/// <param name="Outputs">Its outputs; null when it has none.</param>
/// <param name="CommunicationTimeout">What it does with its outputs when nobody speaks to it; null: it keeps them for ever.</param>
/// <param name="Poll">Time from one reading of its inputs to the next: whole cycles of its port.</param>
/// <param name="StaleAfter">Age from which a reading of its inputs counts as open, where no interlock says otherwise.</param>
/// <param name="Turnaround">Time it needs before it answers.</param>
public sealed record ModuleDefinition(
    string Name,
    int Port,
    byte Address,
    ModuleInputs? Inputs,
    ModuleOutputs? Outputs,
    ModuleTimeoutDefinition? CommunicationTimeout,
    TimeSpan Poll,
    TimeSpan StaleAfter,
    TimeSpan Turnaround)
{
    /// <summary>How it tells what it is, and what it must tell; null: it is not asked.</summary>
    public IdentificationDefinition? Identification { get; init; }

    /// <summary>What becomes of its outputs when the supervisor is lost.</summary>
    public ModuleReaction AtLoss => CommunicationTimeout?.Reaction ?? ModuleReaction.Hold;
}

/// <summary>Inputs of a module, all read by one request.</summary>
/// <param name="Function">1 (coils), 2 (discrete inputs), 3 (holding registers) or 4 (input registers).</param>
/// <param name="Start">Address on the wire of the first bit or register.</param>
/// <param name="Bits">How many.</param>
/// <param name="Packing">How bits lie in registers; only for functions 3 and 4.</param>
/// <param name="Names">Names of bits.</param>
public sealed record ModuleInputs(byte Function, ushort Start, int Bits, BitPacking Packing, IReadOnlyDictionary<string, int> Names);

/// <summary>Outputs of a module.</summary>
/// <param name="Function">5 (one coil), 15 (coils), 6 (one register), 16 (registers) or 22 (bits of one register).</param>
/// <param name="Start">Address on the wire of the first bit or register.</param>
/// <param name="Bits">How many. Other bits of the same registers are written 0 by functions 6 and 16, and left alone by 22.</param>
/// <param name="Packing">How bits lie in registers; only for functions 6, 16 and 22.</param>
/// <param name="Names">Names of bits.</param>
/// <param name="ReadBack">Where the module tells what its outputs are set to; null when it does not.</param>
public sealed record ModuleOutputs(byte Function, ushort Start, int Bits, BitPacking Packing, IReadOnlyDictionary<string, int> Names, ModuleReadBack? ReadBack);

/// <summary>Where a module tells what its outputs are set to: packed as they are written.</summary>
/// <param name="Function">1 to 4.</param>
/// <param name="Start">Address on the wire.</param>
public sealed record ModuleReadBack(byte Function, ushort Start);

/// <summary>How a row of bits lies in registers.</summary>
/// <param name="BitsPerRegister">1 to 16.</param>
/// <param name="BitOrder">Whether the lowest or the highest of a register's bits comes first.</param>
/// <param name="ByteOrder">Order of the two bytes of a register.</param>
/// <param name="WordOrder">Whether the register with the lowest or the highest bits comes first.</param>
public readonly record struct BitPacking(int BitsPerRegister, BitOrder BitOrder, ByteOrder ByteOrder, WordOrder WordOrder)
{
    /// <summary>Registers that some bits take.</summary>
    public int Registers(int bits) => (bits + BitsPerRegister - 1) / BitsPerRegister;

    /// <summary>Register (from the first) and bit (0 is worth 1) of a bit of the row.</summary>
    /// <param name="bit">The bit, from 0.</param>
    /// <param name="bits">How many the row has.</param>
    public (int Register, int Bit) PlaceOf(int bit, int bits)
    {
        var register = bit / BitsPerRegister;
        var place = bit % BitsPerRegister;
        register = WordOrder == WordOrder.HighFirst ? Registers(bits) - 1 - register : register;
        place = BitOrder == BitOrder.HighFirst ? BitsPerRegister - 1 - place : place;
        return (register, ByteOrder == ByteOrder.LowFirst ? place ^ 8 : place);
    }
}

/// <summary>Which of a register's bits comes first.</summary>
public enum BitOrder
{
    LowFirst = 0,
    HighFirst = 1,
}

/// <summary>What a module does with its outputs when nobody speaks to it. It is set and read back before any output is set.</summary>
/// <param name="Timeout">Silence that is too long.</param>
/// <param name="Reaction">What it does then.</param>
/// <param name="FedBy">Which frames keep it quiet.</param>
/// <param name="WriteFunction">6 or 16.</param>
/// <param name="Time">The register that keeps the time.</param>
/// <param name="Writes">What sets it, in this order; the time is one of them.</param>
public sealed record ModuleTimeoutDefinition(
    TimeSpan Timeout, ModuleReaction Reaction, TimeoutFeed FedBy, byte WriteFunction, ModuleSetting Time, IReadOnlyList<ModuleSetting> Writes);

/// <summary>A register of a module that is given a value when it is met.</summary>
/// <param name="Register">Address on the wire.</param>
/// <param name="Value">The value.</param>
/// <param name="ReadBack">True for a value: it is written only where it differs, and read back. False for a command: it is written at every meeting and tells nothing.</param>
public sealed record ModuleSetting(ushort Register, ushort Value, bool ReadBack);

/// <summary>What a module does with its outputs when nobody speaks to it.</summary>
public enum ModuleReaction
{
    /// <summary>They stay as they are.</summary>
    Hold = 0,

    /// <summary>They go off.</summary>
    Off = 1,
}
