using System.Text;

namespace Supervisor.Bus.Rtu;

/// <summary>How far the reading of an identification has come.</summary>
public enum IdentificationState : byte
{
    /// <summary>Another request is to be sent.</summary>
    Asking = 0,

    /// <summary>All objects were told.</summary>
    Complete = 1,

    /// <summary>The device has no such function (exception 1), or none for this access (exceptions 2 and 3).</summary>
    NotServed = 2,

    /// <summary>No good answer, or answers that do not fit each other.</summary>
    Failed = 3,
}

/// <summary>
/// Reads a device's identification objects, request by request, for as long as more follow. A device that refuses the access is asked for the basic
/// objects instead. A step machine: <see cref="Ask"/> fills a request in, <see cref="Take"/> takes its end.
/// </summary>
/// <param name="unit">Address asked.</param>
/// <param name="access">Which objects; <see cref="IdentificationAccess.One"/> is not read this way.</param>
public sealed class IdentificationReading(byte unit, IdentificationAccess access)
{
    private readonly byte[]?[] _objects = new byte[]?[256];
    private IdentificationAccess _access = access;
    private byte _next;

    /// <summary>How far it has come.</summary>
    public IdentificationState State { get; private set; }

    /// <summary>Level that the device says it conforms to; 0 before it answered.</summary>
    public byte Conformity { get; private set; }

    /// <summary>Numbers of the objects that were told.</summary>
    public IEnumerable<byte> Objects => Enumerable.Range(0, _objects.Length).Where(id => _objects[id] is not null).Select(id => (byte)id);

    /// <summary>Fills in the next request.</summary>
    public void Ask(Transaction transaction)
    {
        ArgumentNullException.ThrowIfNull(transaction);
        if (State != IdentificationState.Asking)
        {
            throw new InvalidOperationException($"The reading is {State}.");
        }

        transaction.Identify(unit, _access, _next);
    }

    /// <summary>Takes the end of the last request.</summary>
    public IdentificationState Take(Transaction transaction)
    {
        ArgumentNullException.ThrowIfNull(transaction);
        State = transaction.Result switch
        {
            TransactionResult.Reply => TakePage(transaction.ReplyFrame),
            TransactionResult.ExceptionReply => TakeRefusal(transaction.ExceptionCode),
            _ => IdentificationState.Failed,
        };
        return State;
    }

    /// <summary>True when the object was told.</summary>
    public bool Has(byte id) => _objects[id] is not null;

    /// <summary>Bytes of an object as they came; empty when it was not told.</summary>
    public ReadOnlySpan<byte> Bytes(byte id) => _objects[id];

    /// <summary>An object as a text without what no screen shows: other bytes than printable ASCII become '?', blanks and zeros at its ends go. Empty when it was not told.</summary>
    public string Text(byte id) => Printable(_objects[id]);

    /// <summary>Bytes as <see cref="Text"/> shows them.</summary>
    public static string Printable(ReadOnlySpan<byte> bytes)
    {
        var text = new StringBuilder(bytes.Length);
        foreach (var letter in DeviceIdentification.Trimmed(bytes))
        {
            text.Append(letter is >= 0x20 and < 0x7F ? (char)letter : '?');
        }

        return text.ToString();
    }

    private IdentificationState TakeRefusal(byte exceptionCode)
    {
        if (exceptionCode is not (ExceptionCode.IllegalFunction or ExceptionCode.IllegalDataAddress or ExceptionCode.IllegalDataValue))
        {
            return IdentificationState.Failed;
        }

        if (exceptionCode == ExceptionCode.IllegalFunction || _access == IdentificationAccess.Basic || _next != 0)
        {
            return IdentificationState.NotServed;
        }

        _access = IdentificationAccess.Basic;
        return IdentificationState.Asking;
    }

    private IdentificationState TakePage(ReadOnlySpan<byte> frame)
    {
        var page = new IdentificationPage(frame);
        Conformity = page.Conformity;
        while (page.MoveNext())
        {
            _objects[page.Object] = page.Bytes.ToArray();
        }

        if (page.Next is not { } next)
        {
            return IdentificationState.Complete;
        }

        // Numbers that do not rise would be asked for without end.
        if (next <= _next)
        {
            return IdentificationState.Failed;
        }

        _next = next;
        return IdentificationState.Asking;
    }
}
