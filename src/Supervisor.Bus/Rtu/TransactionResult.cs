namespace Supervisor.Bus.Rtu;

/// <summary>How one request on the wire ended.</summary>
public enum TransactionResult : byte
{
    /// <summary>Not run yet.</summary>
    None = 0,

    /// <summary>A matching reply; its data can be read.</summary>
    Reply = 1,

    /// <summary>The slave answered with an exception code.</summary>
    ExceptionReply = 2,

    /// <summary>No byte of a matching reply by the deadline.</summary>
    TimedOut = 3,

    /// <summary>Bytes came that are no valid reply to this request: bad CRC, cut, too long, wrong shape.</summary>
    Garbled = 4,

    /// <summary>The device behind the link is gone.</summary>
    LinkGone = 5,

    /// <summary>A broadcast is out; nobody answers one, so nothing is known of its effect.</summary>
    Sent = 6,

    /// <summary>Not one byte of it was sent: what it was for no longer holds.</summary>
    Withdrawn = 7,
}
