namespace Supervisor.Bus.Rtu;

/// <summary>The registers behind one slave address.</summary>
public interface IRegisterMap
{
    /// <summary>Reads holding registers. Returns 0, or a Modbus exception code (2 address, 3 value, 4 failure, 6 busy).</summary>
    byte Read(ushort start, Span<ushort> values);

    /// <summary>Reads input registers: the same as holding registers where the two are not kept apart. Returns as <see cref="Read"/>.</summary>
    byte ReadInputRegisters(ushort start, Span<ushort> values) => Read(start, values);

    /// <summary>Writes holding registers, all or none. Returns 0, or a Modbus exception code.</summary>
    byte Write(ushort start, ReadOnlySpan<ushort> values);
}
