using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Support;

/// <summary>Registers from 0 on of a device that tells what it is.</summary>
internal sealed class IdentifiedArray(DeviceIdentity? identity) : IRegisterMap, IIdentified
{
    private readonly RegisterArray _registers = new(0, 100);

    public DeviceIdentity? Identity => identity;

    public byte Read(ushort start, Span<ushort> values) => _registers.Read(start, values);

    public byte Write(ushort start, ReadOnlySpan<ushort> values) => _registers.Write(start, values);
}
