namespace Supervisor.History.Tests.Storms;

/// <summary>How a power cut treats what was not synced.</summary>
internal enum CutStyle
{
    /// <summary>All of it is lost.</summary>
    Nothing = 0,

    /// <summary>All of it had reached the disk.</summary>
    Everything = 1,

    /// <summary>Whole writes are lost or kept by chance, whatever their order.</summary>
    Writes = 2,

    /// <summary>Each sector is as any write left it, or as it was before: torn.</summary>
    Sectors = 3,
}

/// <summary>
/// A file as a disk may hold it after a loss of power: what was synced is there; of what was written since, each sector may hold what any of the writes
/// left there, or what was there before. A sector is written whole or not at all, and writing it harms no other.
/// </summary>
internal sealed class CutFile
{
    public const int Sector = 512;

    // As the process sees it.
    private readonly List<byte> _seen = [];

    // As it certainly stays.
    private readonly Dictionary<long, byte[]> _kept = [];
    private readonly List<(int Write, long Sector, byte[] Bytes)> _unsynced = [];
    private readonly List<(long Sector, byte[] Bytes)> _doubtful = [];
    private readonly List<long> _sizes = [];
    private long _keptSize;
    private int _writes;

    /// <summary>True while something may be lost.</summary>
    public bool HasUnsynced => _unsynced.Count > 0 || _sizes.Count > 0;

    public void Write(long at, ReadOnlySpan<byte> data)
    {
        if (at + data.Length > _seen.Count)
        {
            Resize(at + data.Length);
        }

        var seen = System.Runtime.InteropServices.CollectionsMarshal.AsSpan(_seen);
        data.CopyTo(seen[(int)at..]);
        _writes++;
        for (var sector = at / Sector; sector * Sector < at + data.Length; sector++)
        {
            _unsynced.Add((_writes, sector, Seen(sector)));
        }
    }

    public void Resize(long size)
    {
        if (size < _seen.Count)
        {
            _seen.RemoveRange((int)size, _seen.Count - (int)size);
        }
        else
        {
            System.Runtime.InteropServices.CollectionsMarshal.SetCount(_seen, (int)size);
        }

        _sizes.Add(size);
    }

    /// <summary>What was written until now stays.</summary>
    public void Sync()
    {
        foreach (var (_, sector, bytes) in _unsynced)
        {
            _kept[sector] = bytes;
            _doubtful.RemoveAll(doubt => doubt.Sector == sector);
        }

        _unsynced.Clear();
        _keptSize = _seen.Count;
        _sizes.Clear();
    }

    /// <summary>A sync that failed: the system holds what was written for synced, and nobody knows what of it is on the disk. No later sync helps.</summary>
    public void FailSync()
    {
        _doubtful.AddRange(_unsynced.Select(write => (write.Sector, write.Bytes)));
        _unsynced.Clear();
    }

    /// <summary>The file after a cut now.</summary>
    public byte[] Cut(CutStyle style, Random random)
    {
        var sectors = new Dictionary<long, byte[]>(_kept);
        foreach (var (sector, bytes) in _doubtful.Where(_ => random.Next(2) == 0))
        {
            sectors[sector] = bytes;
        }

        var lost = _unsynced.Select(write => write.Write).Distinct().Where(_ => random.Next(2) == 0).ToHashSet();
        foreach (var (write, sector, bytes) in _unsynced)
        {
            if (style == CutStyle.Everything || (style == CutStyle.Writes && !lost.Contains(write)) || (style == CutStyle.Sectors && random.Next(2) == 0))
            {
                sectors[sector] = bytes;
            }
        }

        var file = new byte[Size(style, random)];
        foreach (var (sector, bytes) in sectors.Where(pair => pair.Key * Sector < file.Length))
        {
            bytes.AsSpan(0, (int)Math.Min(bytes.Length, file.Length - (sector * Sector))).CopyTo(file.AsSpan((int)(sector * Sector)));
        }

        return file;
    }

    private long Size(CutStyle style, Random random) => style switch
    {
        CutStyle.Nothing => _keptSize,
        CutStyle.Everything => _seen.Count,
        _ => random.Next(_sizes.Count + 1) is var choice && choice == _sizes.Count ? _keptSize : _sizes[choice],
    };

    private byte[] Seen(long sector)
    {
        var from = (int)(sector * Sector);
        return [.. System.Runtime.InteropServices.CollectionsMarshal.AsSpan(_seen)[from..Math.Min(from + Sector, _seen.Count)]];
    }
}
