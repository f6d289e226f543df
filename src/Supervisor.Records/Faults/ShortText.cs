using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Text;

namespace Supervisor.Records.Faults;

/// <summary>A short text that crosses threads without allocation: of longer ones the beginning.</summary>
/// <remarks>Kept as numbers, so that two of them compare by their contents.</remarks>
[StructLayout(LayoutKind.Sequential)]
public readonly record struct ShortText
{
    /// <summary>Most letters.</summary>
    public const int Most = 48;

    private readonly ulong _a;
    private readonly ulong _b;
    private readonly ulong _c;
    private readonly ulong _d;
    private readonly ulong _e;
    private readonly ulong _f;

    /// <summary>Takes bytes as they came from a device, up to the first zero or <see cref="Most"/>.</summary>
    public ShortText(ReadOnlySpan<byte> bytes)
    {
        this = default;
        var end = bytes.IndexOf((byte)0);
        var taken = bytes[..Math.Min(end < 0 ? bytes.Length : end, Most)];
        taken.CopyTo(MemoryMarshal.AsBytes(MemoryMarshal.CreateSpan(ref Unsafe.AsRef(in _a), Most / sizeof(ulong))));
    }

    /// <summary>The text; what is not printable ASCII becomes a question mark.</summary>
    public override string ToString()
    {
        var copy = this;
        var bytes = MemoryMarshal.AsBytes(MemoryMarshal.CreateSpan(ref Unsafe.AsRef(in copy._a), Most / sizeof(ulong)));
        var text = new StringBuilder(Most);
        foreach (var each in bytes)
        {
            if (each == 0)
            {
                break;
            }

            text.Append(each is >= 0x20 and < 0x7F ? (char)each : '?');
        }

        return text.ToString();
    }
}
