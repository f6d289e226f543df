namespace Supervisor.Bus.Rtu;

/// <summary>The coils and discrete inputs behind one slave address, beside its registers. Results are 0 or a Modbus exception code, as in <see cref="IRegisterMap"/>.</summary>
public interface IBitMap
{
    /// <summary>Reads coils.</summary>
    byte ReadCoils(ushort start, Span<bool> values);

    /// <summary>Reads discrete inputs.</summary>
    byte ReadInputs(ushort start, Span<bool> values);

    /// <summary>Switches coils, all or none.</summary>
    byte WriteCoils(ushort start, ReadOnlySpan<bool> values);
}
