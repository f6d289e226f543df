using Supervisor.Bus.Links;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>Tells whether anything came since the last request went out, also what the master threw away as no answer.</summary>
internal sealed class HeardLink(ILink link) : ILink
{
    /// <summary>Bytes came since the last request.</summary>
    public bool HasHeard { get; private set; }

    /// <inheritdoc/>
    public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
    {
        HasHeard = false;
        return link.Write(bytes, deadline);
    }

    /// <inheritdoc/>
    public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
    {
        var status = link.Read(into, deadline, out count);
        HasHeard |= count > 0;
        return status;
    }

    /// <inheritdoc/>
    public LinkStatus DiscardInput() => link.DiscardInput();

    /// <inheritdoc/>
    public void Dispose() => link.Dispose();
}
