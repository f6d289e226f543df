using System.IO.Compression;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Records.Tracing;

namespace Supervisor.History.Recordings.Coding;

/// <summary>
/// Samples of one axis as bytes: column by column, so that what changes little costs little, then packed with a checksum (zlib, RFC 1950). Times are kept to whole microseconds,
/// everything else as it was.
/// </summary>
/// <remarks>
/// <c>version 1 | length of the plain bytes | packed: count, then per column its number, its length, its bytes</c>; numbers as <see cref="ByteWriter"/> writes them. A
/// column that a reader does not know is skipped, one that is missing reads as zero: a column more is no new version.
/// </remarks>
internal sealed class ChunkCodec
{
    /// <summary>Most samples of a chunk.</summary>
    public const int MaximumSamples = 512;

    private const byte Version = 1;
    private const int LargestPlain = 1 << 20;
    private const double TorqueStepsPerPercent = 10;

    private readonly ByteWriter _plain = new();
    private readonly ByteWriter _column = new();
    private readonly long[] _counts = new long[MaximumSamples];
    private readonly double[] _reals = new double[MaximumSamples];

    /// <summary>Bytes before they were packed, of the last chunk written.</summary>
    public int PlainLength => _plain.Length;

    /// <summary>Encodes 1 to <see cref="MaximumSamples"/> samples of one axis.</summary>
    public byte[] Write(ReadOnlySpan<TraceSample> samples, double countsPerUnit)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThan(samples.Length, MaximumSamples, nameof(samples));
        _plain.Clear();
        _plain.Unsigned((ulong)samples.Length);
        foreach (var column in Columns.Whole)
        {
            for (var i = 0; i < samples.Length; i++)
            {
                _counts[i] = column.Get(samples[i]);
            }

            _column.Clear();
            IntegerColumn.Write(_column, _counts.AsSpan(0, samples.Length));
            Append(column.Number);
        }

        foreach (var column in Columns.Real)
        {
            for (var i = 0; i < samples.Length; i++)
            {
                _reals[i] = column.Get(samples[i]);
            }

            _column.Clear();
            RealColumn.Write(_column, _reals.AsSpan(0, samples.Length), column.IsTorque ? TorqueStepsPerPercent : countsPerUnit, column.IsFloat, _counts);
            Append(column.Number);
        }

        return Pack();
    }

    /// <summary>Decodes a chunk.</summary>
    /// <exception cref="InvalidDataException">It is damaged, or of a version that this one can't read; the message says which.</exception>
    public TraceSample[] Read(ReadOnlySpan<byte> chunk)
    {
        var plain = new ByteReader(Unpack(chunk));
        var count = plain.Unsigned();
        if (count > MaximumSamples)
        {
            throw new InvalidDataException("a chunk is longer than any can be");
        }

        var samples = new TraceSample[count];
        while (!plain.IsAtEnd)
        {
            var number = plain.Byte();
            var column = new ByteReader(plain.Take(plain.Count()));
            ReadColumn(number, ref column, samples);
        }

        return samples;
    }

    private void ReadColumn(byte number, ref ByteReader from, TraceSample[] samples)
    {
        if (Array.Find(Columns.Whole, column => column.Number == number) is { } whole)
        {
            IntegerColumn.Read(ref from, _counts.AsSpan(0, samples.Length));
            for (var i = 0; i < samples.Length; i++)
            {
                whole.Set(ref samples[i], _counts[i]);
            }
        }
        else if (Array.Find(Columns.Real, column => column.Number == number) is { } real)
        {
            RealColumn.Read(ref from, _reals.AsSpan(0, samples.Length), _counts.AsSpan(0, samples.Length));
            for (var i = 0; i < samples.Length; i++)
            {
                real.Set(ref samples[i], _reals[i]);
            }
        }
    }

    private void Append(byte number)
    {
        _plain.Byte(number);
        _plain.Unsigned((ulong)_column.Length);
        _plain.Raw(_column.Written);
    }

    private byte[] Pack()
    {
        var head = new ByteWriter();
        head.Byte(Version);
        head.Unsigned((ulong)_plain.Length);
        using var packed = new MemoryStream();
        packed.Write(head.Written);
        using (var zlib = new ZLibStream(packed, CompressionLevel.SmallestSize, leaveOpen: true))
        {
            zlib.Write(_plain.Written);
        }

        return packed.ToArray();
    }

    private static byte[] Unpack(ReadOnlySpan<byte> chunk)
    {
        var reader = new ByteReader(chunk);
        if (reader.Byte() is var version && version != Version)
        {
            throw new InvalidDataException($"its samples are of format {version}; this version reads format {Version}");
        }

        var length = reader.Unsigned();
        if (length > LargestPlain)
        {
            throw new InvalidDataException("a chunk is longer than any can be");
        }

        using var packed = new MemoryStream(reader.Take(reader.Left).ToArray());
        using var zlib = new ZLibStream(packed, CompressionMode.Decompress);
        var plain = new byte[length];
        try
        {
            // The checksum is looked at once the end is met.
            zlib.ReadExactly(plain);
            if (zlib.ReadByte() >= 0)
            {
                throw new InvalidDataException("it is longer than it says");
            }
        }
        catch (EndOfStreamException exception)
        {
            throw new InvalidDataException("it ends too early", exception);
        }

        return plain;
    }
}
