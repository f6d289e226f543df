using Supervisor.Bus.Links;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>Keeps the first bytes that came since the last request went out, for what the master throws away as no answer.</summary>
internal sealed class HeardLink(ILink link) : ILink
{
    private const int Most = 64;

    private readonly byte[] _heard = new byte[Most];
    private readonly byte[] _asked = new byte[Most];
    private int _heardCount;
    private int _askedCount;

    /// <summary>
    /// True when what came begins with the request itself: the adapter hears what it sends (RS-485 with its receiver left on). A device that
    /// echoes by function 8 sends the same, so ask this of other requests only.
    /// </summary>
    public bool IsOwnRequest => _askedCount > 0 && _heardCount >= _askedCount && _heard.AsSpan(0, _askedCount).SequenceEqual(_asked.AsSpan(0, _askedCount));

    /// <summary>Bytes that came since the last request, at most 64.</summary>
    public ReadOnlySpan<byte> Heard => _heard.AsSpan(0, _heardCount);

    /// <inheritdoc/>
    public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
    {
        _heardCount = 0;
        _askedCount = Math.Min(bytes.Length, Most);
        bytes[.._askedCount].CopyTo(_asked);
        return link.Write(bytes, deadline);
    }

    /// <inheritdoc/>
    public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
    {
        var status = link.Read(into, deadline, out count);
        var kept = Math.Min(count, Most - _heardCount);
        into[..kept].CopyTo(_heard.AsSpan(_heardCount));
        _heardCount += kept;
        return status;
    }

    /// <inheritdoc/>
    public LinkStatus DiscardInput() => link.DiscardInput();

    /// <inheritdoc/>
    public void Dispose() => link.Dispose();
}
