namespace Supervisor.Bus.Links;

/// <summary>Bytes in and out of one serial line. All calls run on the caller's thread; none is thread-safe.</summary>
public interface ILink : IDisposable
{
    /// <summary>Writes all bytes or says why not. A partial write is continued until <paramref name="deadline"/>.</summary>
    LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline);

    /// <summary>Waits until bytes are there or <paramref name="deadline"/> (monotonic) has passed; returns what is there without waiting for more.</summary>
    /// <param name="into">Where the bytes go.</param>
    /// <param name="deadline">Monotonic time; one that has passed means: look, do not wait.</param>
    /// <param name="count">Bytes read; 0 unless the status is <see cref="LinkStatus.Ok"/>.</param>
    LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count);

    /// <summary>Throws away what was received and not read.</summary>
    LinkStatus DiscardInput();
}

/// <summary>What a link call came to. Trouble on the wire is data, not an exception.</summary>
public enum LinkStatus
{
    Ok = 0,

    /// <summary>The deadline passed.</summary>
    TimedOut = 1,

    /// <summary>The device is gone (hang-up, EIO, end of file): close and reopen.</summary>
    Gone = 2,
}
