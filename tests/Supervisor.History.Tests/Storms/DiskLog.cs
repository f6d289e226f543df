using System.Buffers.Binary;
using System.Text;

namespace Supervisor.History.Tests.Storms;

/// <summary>An operation on a file, as <c>disk_shim.c</c> logged it.</summary>
/// <param name="Kind">What was done; the letters are told there.</param>
/// <param name="File">Number of the opened file; 0 where names are meant.</param>
/// <param name="At">Offset of a write, or a size.</param>
/// <param name="Data">What was written, or names.</param>
internal readonly record struct DiskOperation(char Kind, int File, long At, ReadOnlyMemory<byte> Data)
{
    /// <summary>The data as a name, or as two ended by a zero each.</summary>
    public string[] Names => Encoding.UTF8.GetString(Data.Span).TrimEnd('\0').Split('\0');
}

/// <summary>Reads what the shim logged.</summary>
internal static class DiskLog
{
    private const int Head = 17;

    public static List<DiskOperation> Read(string path)
    {
        ReadOnlyMemory<byte> bytes = File.ReadAllBytes(path);
        var operations = new List<DiskOperation>();
        while (bytes.Length >= Head)
        {
            var head = bytes.Span;
            var length = BinaryPrimitives.ReadInt32LittleEndian(head[13..]);
            if (bytes.Length < Head + length)
            {
                break;
            }

            operations.Add(new DiskOperation(
                (char)head[0], BinaryPrimitives.ReadInt32LittleEndian(head[1..]), BinaryPrimitives.ReadInt64LittleEndian(head[5..]), bytes.Slice(Head, length)));
            bytes = bytes[(Head + length)..];
        }

        return operations;
    }
}
