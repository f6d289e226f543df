using System.Buffers;
using System.Buffers.Binary;
using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;

namespace Supervisor.Daemon.Services;

/// <summary>Where the next page of a list begins, bound to the arguments the first page was asked with (AIP-158).</summary>
internal static class PageToken
{
    private const byte Version = 1;
    private const int DigestBytes = 8;
    private const int Bytes = 1 + 8 + DigestBytes;

    /// <param name="before">The next page holds what is before this sequence number.</param>
    /// <param name="arguments">The request's other arguments.</param>
    public static string Write(long before, string arguments)
    {
        Span<byte> token = stackalloc byte[Bytes];
        token[0] = Version;
        BinaryPrimitives.WriteInt64BigEndian(token[1..], before);
        Digest(arguments, token[9..]);
        return Base64Url.EncodeToString(token);
    }

    /// <summary>False for a text that is no token of this version, or one of other arguments.</summary>
    public static bool TryRead(string text, string arguments, out long before)
    {
        before = 0;
        Span<byte> token = stackalloc byte[Bytes];
        Span<byte> digest = stackalloc byte[DigestBytes];
        Digest(arguments, digest);
        if (Base64Url.DecodeFromChars(text, token, out _, out var written) != OperationStatus.Done || written != Bytes || token[0] != Version || !token[9..].SequenceEqual(digest))
        {
            return false;
        }

        before = BinaryPrimitives.ReadInt64BigEndian(token[1..]);
        return before > 0;
    }

    private static void Digest(string arguments, Span<byte> into) => SHA256.HashData(Encoding.UTF8.GetBytes(arguments)).AsSpan(0, DigestBytes).CopyTo(into);
}
