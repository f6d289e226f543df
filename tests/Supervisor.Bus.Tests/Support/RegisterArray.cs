using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Support;

/// <summary>Registers from a first number on; any other gives exception 2.</summary>
internal sealed class RegisterArray(int first, int count) : IRegisterMap
{
    public ushort[] Values { get; } = new ushort[count];

    public int Writes { get; private set; }

    public ushort this[int register]
    {
        get => Values[register - first];
        set => Values[register - first] = value;
    }

    public byte Read(ushort start, Span<ushort> values)
    {
        if (!Has(start, values.Length))
        {
            return ExceptionCode.IllegalDataAddress;
        }

        Values.AsSpan(start - first, values.Length).CopyTo(values);
        return 0;
    }

    public byte Write(ushort start, ReadOnlySpan<ushort> values)
    {
        if (!Has(start, values.Length))
        {
            return ExceptionCode.IllegalDataAddress;
        }

        values.CopyTo(Values.AsSpan(start - first));
        Writes++;
        return 0;
    }

    private bool Has(int start, int length) => start >= first && start + length <= first + Values.Length;
}
