using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Text;

namespace Supervisor.Records.Faults;

/// <summary>What a device tells of itself that its definition does not accept (function 43, objects 0 to 2; MODBUS Application Protocol V1.1b3, 6.21).</summary>
/// <param name="Object">What of it; <see cref="IdentityObject.None"/>: there is no difference.</param>
/// <param name="Found">What it tells; empty where it does not tell it.</param>
public readonly record struct IdentityDifference(IdentityObject Object, ShortText Found);

/// <summary>What a device tells of itself.</summary>
public enum IdentityObject : byte
{
    None = 0,
    Vendor = 1,
    Product = 2,
    Revision = 3,

    /// <summary>All: it refuses to tell what it is.</summary>
    All = 4,
}

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
