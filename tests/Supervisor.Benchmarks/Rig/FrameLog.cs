namespace Supervisor.Benchmarks.Rig;

/// <summary>What a request does.</summary>
internal enum FrameKind : byte
{
    /// <summary>Neither of the others: reading, parameters, commands that hold.</summary>
    Other = 0,

    /// <summary>The controlword alone, and not one that moves.</summary>
    Stop = 1,

    /// <summary>A controlword that lets an axis move: enabled without the halt bit, or with a set-point raised (CiA 402).</summary>
    Motion = 2,
}

/// <summary>A request as it began.</summary>
/// <param name="At">Last reading of the thread's clock before its first byte.</param>
/// <param name="Unit">Address of the drive.</param>
/// <param name="Kind">What it does.</param>
/// <param name="Writes">It writes registers.</param>
/// <param name="Target">Target position that it carries, counts; null when none.</param>
/// <param name="Bytes">Bytes of the request and of its reply.</param>
/// <param name="Allocated">Bytes its thread had allocated.</param>
internal readonly record struct LoggedFrame(TimeSpan At, byte Unit, FrameKind Kind, bool Writes, int? Target, int Bytes, long Allocated);

/// <summary>The newest requests of one port, written by its thread and read by another; allocates nothing once made.</summary>
internal sealed class FrameLog
{
    private const int Kept = 1 << 17;

    // The demo's drive definition.
    private const int Controlword = 64;
    private const int TargetPosition = 66;
    private readonly LoggedFrame[] _frames = new LoggedFrame[Kept];
    private long _count;

    /// <summary>Requests so far; what is below it may be read until as many more have come as are kept.</summary>
    public long Count => Volatile.Read(ref _count);

    /// <summary>When the newest one began.</summary>
    public TimeSpan LastAt => this[Count - 1].At;

    public LoggedFrame this[long index] => _frames[index % Kept];

    public void Add(TimeSpan at, ReadOnlySpan<byte> frame)
    {
        _frames[_count % Kept] = new LoggedFrame(at, frame[0], KindOf(frame), WrittenCount(frame) > 0, TargetOf(frame), frame.Length + ReplyLength(frame), GC.GetAllocatedBytesForCurrentThread());
        Volatile.Write(ref _count, _count + 1);
    }

    private static FrameKind KindOf(ReadOnlySpan<byte> frame)
    {
        if (Written(frame, Controlword) is not { } controlword)
        {
            return FrameKind.Other;
        }

        var moves = (controlword & 0x0F) == 0x0F && ((controlword & 0x100) == 0 || (controlword & 0x10) != 0);
        return moves ? FrameKind.Motion : WrittenCount(frame) == 1 ? FrameKind.Stop : FrameKind.Other;
    }

    private static int? TargetOf(ReadOnlySpan<byte> frame) =>
        Written(frame, TargetPosition) is { } high && Written(frame, TargetPosition + 1) is { } low ? (high << 16) | low : null;

    /// <summary>Value a request writes to a register; null when it does not (functions 6, 16 and 23 of Modbus).</summary>
    private static int? Written(ReadOnlySpan<byte> frame, int register)
    {
        var (first, data) = frame[1] switch { 6 => (Word(frame, 2), 4), 16 => (Word(frame, 2), 7), 23 => (Word(frame, 6), 11), _ => (0, -1) };
        var at = register - first;
        return data < 0 || at < 0 || at >= WrittenCount(frame) ? null : Word(frame, data + (2 * at));
    }

    private static int WrittenCount(ReadOnlySpan<byte> frame) => frame[1] switch { 6 => 1, 16 => Word(frame, 4), 23 => Word(frame, 8), _ => 0 };

    /// <summary>Bytes of the reply to a request, as it is answered when all is well.</summary>
    private static int ReplyLength(ReadOnlySpan<byte> frame) => frame[1] is 3 or 4 or 23 ? 5 + (2 * Word(frame, 4)) : 8;

    private static int Word(ReadOnlySpan<byte> frame, int at) => (frame[at] << 8) | frame[at + 1];
}
