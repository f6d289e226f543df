using Supervisor.Bus.Links;

namespace Supervisor.Bus.Tests.Support;

/// <summary>A link and its clock in simulated time: bytes arrive when a test says, and waiting is free.</summary>
internal sealed class SimulatedLine : ILink, IMonotonicClock
{
    private readonly List<(TimeSpan At, byte[] Bytes)> _coming = [];

    public TimeSpan Now { get; set; } = TimeSpan.FromSeconds(100);

    /// <summary>Called with each frame that was written.</summary>
    public Action<byte[]> OnWrite { get; set; } = _ => { };

    public LinkStatus WriteStatus { get; set; } = LinkStatus.Ok;

    /// <summary>When the device goes away.</summary>
    public TimeSpan GoneAt { get; set; } = TimeSpan.MaxValue;

    public List<byte[]> Written { get; } = [];

    public int Pending => _coming.Sum(part => part.Bytes.Length);

    public void Deliver(TimeSpan after, params byte[] bytes)
    {
        _coming.Add((Now + after, bytes));
        _coming.Sort((a, b) => a.At.CompareTo(b.At));
    }

    /// <summary>What is still to come never does.</summary>
    public void Silence() => _coming.Clear();

    public void WaitUntil(TimeSpan deadline) => Now = deadline > Now ? deadline : Now;

    public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
    {
        Assert.True(deadline > Now, "A write needs time.");
        if (Now >= GoneAt)
        {
            return LinkStatus.Gone;
        }

        if (WriteStatus == LinkStatus.TimedOut)
        {
            Now = deadline;
            return WriteStatus;
        }

        if (WriteStatus == LinkStatus.Ok)
        {
            Written.Add(bytes.ToArray());
            OnWrite(Written[^1]);
        }

        return WriteStatus;
    }

    public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
    {
        count = 0;
        var nextAt = _coming.Count > 0 ? _coming[0].At : TimeSpan.MaxValue;
        var wake = nextAt < deadline ? nextAt : deadline;
        if (GoneAt <= wake)
        {
            WaitUntil(GoneAt);
        }

        if (Now >= GoneAt)
        {
            return LinkStatus.Gone;
        }

        WaitUntil(wake);
        while (_coming.Count > 0 && _coming[0].At <= Now && count + _coming[0].Bytes.Length <= into.Length)
        {
            _coming[0].Bytes.CopyTo(into[count..]);
            count += _coming[0].Bytes.Length;
            _coming.RemoveAt(0);
        }

        return count > 0 ? LinkStatus.Ok : LinkStatus.TimedOut;
    }

    public LinkStatus DiscardInput()
    {
        _coming.RemoveAll(part => part.At <= Now);
        return LinkStatus.Ok;
    }

    public void Dispose()
    {
    }
}
