using System.Runtime.Versioning;
using Supervisor.Bus.Links;

namespace Supervisor.Benchmarks.Rig;

/// <summary>A real link that notes every request: when it began, what it is, and what its thread has allocated by then.</summary>
[SupportedOSPlatform("linux")]
internal sealed class WatchedLink(ILink inner, WatchedClock clock, FrameLog log) : ILink
{
    public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
    {
        log.Add(clock.Last, bytes);
        return inner.Write(bytes, deadline);
    }

    public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count) => inner.Read(into, deadline, out count);

    public LinkStatus DiscardInput() => inner.DiscardInput();

    public void Dispose() => inner.Dispose();
}
