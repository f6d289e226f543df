using System.Text;

namespace Supervisor.Bus.Rtu;

/// <summary>A slave that tells what it is by function 43, interface 14, beside its registers.</summary>
public interface IIdentified
{
    /// <summary>What it tells; null: it has no such function.</summary>
    DeviceIdentity? Identity { get; }
}

/// <summary>The identification objects of one device.</summary>
public sealed class DeviceIdentity
{
    private readonly byte[]?[] _objects = new byte[]?[256];

    /// <summary>The three objects that must be there. Texts are ASCII, at most <see cref="DeviceIdentification.MaximumObjectBytes"/> bytes.</summary>
    /// <exception cref="ArgumentException">A text is too long or not ASCII.</exception>
    public DeviceIdentity(string vendorName, string productCode, string revision)
    {
        Set(DeviceIdentification.VendorName, vendorName);
        Set(DeviceIdentification.ProductCode, productCode);
        Set(DeviceIdentification.Revision, revision);
    }

    /// <summary>True when single objects may be asked for.</summary>
    public bool HasIndividualAccess { get; init; } = true;

    /// <summary>
    /// The level the objects make up, 1 basic, 2 regular, 3 extended, with <see cref="DeviceIdentification.IndividualBit"/>
    /// where single objects are told.
    /// </summary>
    public byte Conformity => (byte)((byte)Level | (HasIndividualAccess ? DeviceIdentification.IndividualBit : 0));

    /// <summary>The highest access that has objects of its own.</summary>
    public IdentificationAccess Level { get; private set; } = IdentificationAccess.Basic;

    /// <summary>Sets one object.</summary>
    /// <exception cref="ArgumentException">The text is too long or not ASCII.</exception>
    public void Set(byte id, string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        if (!Ascii.IsValid(text) || text.Length > DeviceIdentification.MaximumObjectBytes)
        {
            throw new ArgumentException($"An object is ASCII and at most {DeviceIdentification.MaximumObjectBytes} bytes long.", nameof(text));
        }

        _objects[id] = Encoding.ASCII.GetBytes(text);
        var level = id <= DeviceIdentification.Revision ? IdentificationAccess.Basic
            : id <= DeviceIdentification.LastRegular ? IdentificationAccess.Regular : IdentificationAccess.Extended;
        Level = level > Level ? level : Level;
    }

    /// <summary>True when there is such an object.</summary>
    public bool Has(byte id) => _objects[id] is not null;

    /// <summary>Bytes of an object; empty when there is none.</summary>
    public ReadOnlySpan<byte> Object(byte id) => _objects[id];
}
