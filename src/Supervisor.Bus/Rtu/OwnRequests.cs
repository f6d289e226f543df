namespace Supervisor.Bus.Rtu;

/// <summary>
/// Tells whether a line gives back what is sent on it, as an RS-485 adapter does whose receiver is on while it sends. Such a line brings every request
/// ahead of its answer, and the request alone where nobody answers.
/// </summary>
/// <remarks>
/// Most replies differ from their request. Of those that are the same byte for byte (functions 5, 6, 8 and 22) a single one may be either; on such a line
/// they come twice where somebody answers. So until another reply has shown that the line brings no request, a second one is waited for; where none comes
/// it was the reply, or nobody answers: who relies on it has to read something as well.
/// </remarks>
internal sealed class OwnRequests
{
    private Knowledge _line;

    private enum Knowledge : byte
    {
        Unknown,
        NotBrought,
        Brought,
    }

    /// <summary>The line brings what is sent, as far as was seen last.</summary>
    public bool AreBrought => _line == Knowledge.Brought;

    /// <summary>What the running exchange has brought.</summary>
    public OwnRequest Seen { get; private set; }

    /// <summary>When a request came that may have been the reply; only while <see cref="Seen"/> is <see cref="OwnRequest.Doubtful"/>.</summary>
    public TimeSpan DoubtfulAt { get; private set; }

    /// <summary>Another device may be behind the line.</summary>
    public void Forget() => _line = Knowledge.Unknown;

    /// <summary>An exchange begins.</summary>
    public void Begin() => Seen = OwnRequest.None;

    /// <summary>Holds what came against the request that was sent. After one was taken nothing is one any more.</summary>
    public DecodeState Look(ReadOnlySpan<byte> received, ReadOnlySpan<byte> request)
    {
        var length = Math.Min(received.Length, request.Length);
        return Seen != OwnRequest.None || !received[..length].SequenceEqual(request[..length]) ? DecodeState.Invalid
            : received.Length < request.Length ? DecodeState.Incomplete
            : DecodeState.Frame;
    }

    /// <summary>The whole request came. True when it is that, or may be: it is put aside, and the reply waited for. False: it is the reply.</summary>
    /// <param name="mayBeReply">It has the shape of its reply.</param>
    /// <param name="expected">That shape.</param>
    /// <param name="now">Monotonic time.</param>
    public bool PutAside(bool mayBeReply, in ReplyShape expected, TimeSpan now)
    {
        if (!mayBeReply || _line == Knowledge.Brought)
        {
            (_line, Seen) = (Knowledge.Brought, OwnRequest.Certain);
            return true;
        }

        if (_line == Knowledge.NotBrought && expected.RepeatsRequest)
        {
            return false;
        }

        (Seen, DoubtfulAt) = (OwnRequest.Doubtful, now);
        return true;
    }

    /// <summary>A whole reply came. True when it came behind the request.</summary>
    public bool IsBehindOne(bool isException, in ReplyShape expected)
    {
        if (Seen != OwnRequest.None)
        {
            (_line, Seen) = (Knowledge.Brought, OwnRequest.Certain);
            return true;
        }

        _line = isException || !expected.RepeatsRequest ? Knowledge.NotBrought : _line;
        return false;
    }

    /// <summary>Nothing came behind a request that may have been the reply. True when it counts as that.</summary>
    public bool WasReply(in ReplyShape expected)
    {
        if (Seen != OwnRequest.Doubtful || (_line != Knowledge.NotBrought && !expected.RepeatsRequest))
        {
            return false;
        }

        // A device that answers on a line that brings requests would have sent a second one.
        _line = Knowledge.NotBrought;
        return true;
    }

    /// <summary>The beginning of the request is a whole reply too: on a line that is known to bring none it counts as that at once.</summary>
    public bool IsWorthWaiting => _line != Knowledge.NotBrought;
}

/// <summary>Whether an exchange has brought the request that was sent.</summary>
internal enum OwnRequest : byte
{
    None = 0,

    /// <summary>It may have been the reply, which has the same bytes.</summary>
    Doubtful = 1,
    Certain = 2,
}
