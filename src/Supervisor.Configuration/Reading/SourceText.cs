using System.Text;
using System.Text.Unicode;

namespace Supervisor.Configuration.Reading;

/// <summary>The bytes of one file and the place of each: lines and columns from 1, columns in characters (a tab is one, a letter of several bytes is one).</summary>
internal sealed class SourceText
{
    private static ReadOnlySpan<byte> Mark => [0xEF, 0xBB, 0xBF];

    private readonly byte[] bytes;
    private readonly List<int> lineStarts = [];

    public SourceText(string file, byte[] bytes)
    {
        File = file;
        this.bytes = bytes;
        Start = bytes.AsSpan().StartsWith(Mark) ? Mark.Length : 0;
        lineStarts.Add(Start);
        for (var i = Start; i < bytes.Length; i++)
        {
            if (bytes[i] == (byte)'\n')
            {
                lineStarts.Add(i + 1);
            }
        }
    }

    /// <summary>Path as the user gave it.</summary>
    public string File { get; }

    /// <summary>Offset of the first character: behind a byte-order mark, which is none.</summary>
    public int Start { get; }

    /// <summary>Everything behind a byte-order mark.</summary>
    public ReadOnlySpan<byte> Text => bytes.AsSpan(Start);

    /// <summary>Offset of a place told as line and byte, both from 0.</summary>
    public int OffsetOf(long line, long byteInLine)
    {
        var start = lineStarts[(int)Math.Clamp(line, 0, lineStarts.Count - 1)];
        return (int)Math.Clamp(start + byteInLine, Start, bytes.Length);
    }

    public (int Line, int Column) Locate(int offset)
    {
        offset = Math.Clamp(offset, Start, bytes.Length);
        var found = lineStarts.BinarySearch(offset);
        var line = found >= 0 ? found : ~found - 1;
        var column = 1;
        for (var i = lineStarts[line]; i < offset; i++)
        {
            if (!IsContinuation(bytes[i]))
            {
                column++;
            }
        }

        return (line + 1, column);
    }

    /// <summary>Offset of the first byte that is not UTF-8, or -1.</summary>
    public int FirstInvalidByte()
    {
        if (Utf8.IsValid(Text))
        {
            return -1;
        }

        var offset = Start;
        while (Rune.DecodeFromUtf8(bytes.AsSpan(offset), out _, out var consumed) == System.Buffers.OperationStatus.Done)
        {
            offset += consumed;
        }

        return offset;
    }

    private static bool IsContinuation(byte value) => (value & 0xC0) == 0x80;
}
