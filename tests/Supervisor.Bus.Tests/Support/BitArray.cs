using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Support;

/// <summary>Coils and discrete inputs from 0 on, and no registers.</summary>
internal sealed class BitArray(int count) : IRegisterMap, IBitMap
{
    public bool[] Coils { get; } = new bool[count];

    public bool[] Inputs { get; } = new bool[count];

    public int Writes { get; private set; }

    public byte Read(ushort start, Span<ushort> values) => ExceptionCode.IllegalDataAddress;

    public byte Write(ushort start, ReadOnlySpan<ushort> values) => ExceptionCode.IllegalDataAddress;

    public byte ReadCoils(ushort start, Span<bool> values) => Copy(Coils, start, values);

    public byte ReadInputs(ushort start, Span<bool> values) => Copy(Inputs, start, values);

    public byte WriteCoils(ushort start, ReadOnlySpan<bool> values)
    {
        if (start + values.Length > count)
        {
            return ExceptionCode.IllegalDataAddress;
        }

        values.CopyTo(Coils.AsSpan(start));
        Writes++;
        return 0;
    }

    private static byte Copy(bool[] from, int start, Span<bool> values)
    {
        if (start + values.Length > from.Length)
        {
            return ExceptionCode.IllegalDataAddress;
        }

        from.AsSpan(start, values.Length).CopyTo(values);
        return 0;
    }
}
