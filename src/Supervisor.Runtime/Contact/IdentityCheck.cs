using System.Text;
using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Records.Faults;

namespace Supervisor.Runtime.Contact;

/// <summary>What the reading of an identification came to.</summary>
internal enum IdentityResult : byte
{
    /// <summary>More follows.</summary>
    UnderWay = 0,

    /// <summary>The device tells what its definition accepts.</summary>
    AsDefined = 1,

    /// <summary>Another kind of device.</summary>
    Other = 2,
}

/// <summary>
/// Asks a device what it is and compares it with what its definition accepts, request by request, for as long as more follows. An object that is compared
/// and not told is another one. Nothing is allocated.
/// </summary>
internal sealed class IdentityCheck
{
    private const int Objects = DeviceIdentification.Revision + 1;

    private readonly byte[][][] _accepted;
    private int _told;
    private byte _next;

    public IdentityCheck(IdentificationDefinition definition)
    {
        _accepted =
        [
            definition.Vendor is { } vendor ? [Encoding.ASCII.GetBytes(vendor)] : [],
            definition.Product is { } product ? [Encoding.ASCII.GetBytes(product)] : [],
            [.. definition.Revisions.Select(Encoding.ASCII.GetBytes)],
        ];
    }

    /// <summary>It was read to its end and is what the definition accepts.</summary>
    public bool IsPassed { get; private set; }

    /// <summary>Where it is another one: how it differs.</summary>
    public IdentityDifference Difference { get; private set; }

    /// <summary>Begins anew.</summary>
    public void Restart() => (_told, _next, IsPassed, Difference) = (0, 0, false, default);

    /// <summary>The last request was refused.</summary>
    public void TakeException() => Difference = new IdentityDifference(IdentityObject.All, default);

    /// <summary>Fills in the next request.</summary>
    public void Ask(Transaction transaction, byte unit) => transaction.Identify(unit, IdentificationAccess.Basic, _next);

    /// <summary>Takes the reply to the last request.</summary>
    public IdentityResult Take(Transaction transaction)
    {
        var page = new IdentificationPage(transaction.ReplyFrame);
        while (page.MoveNext())
        {
            if (page.Object < Objects && !IsAccepted(page.Object, page.Bytes))
            {
                Difference = new IdentityDifference(Which(page.Object), new ShortText(DeviceIdentification.Trimmed(page.Bytes)));
                return IdentityResult.Other;
            }
        }

        // Numbers that do not rise would be asked for without end: what has not been told by then is not told.
        if (page.Next is { } next && next > _next && next < Objects)
        {
            _next = next;
            return IdentityResult.UnderWay;
        }

        for (var id = 0; id < Objects; id++)
        {
            if (_accepted[id].Length > 0 && (_told & (1 << id)) == 0)
            {
                Difference = new IdentityDifference(Which(id), default);
                return IdentityResult.Other;
            }
        }

        IsPassed = true;
        return IdentityResult.AsDefined;
    }

    private static IdentityObject Which(int id) => id switch
    {
        DeviceIdentification.VendorName => IdentityObject.Vendor,
        DeviceIdentification.ProductCode => IdentityObject.Product,
        _ => IdentityObject.Revision,
    };

    private bool IsAccepted(byte id, ReadOnlySpan<byte> told)
    {
        _told |= 1 << id;
        var text = DeviceIdentification.Trimmed(told);
        var accepted = _accepted[id];
        for (var i = 0; i < accepted.Length; i++)
        {
            if (text.SequenceEqual(accepted[i]))
            {
                return true;
            }
        }

        return accepted.Length == 0;
    }
}
