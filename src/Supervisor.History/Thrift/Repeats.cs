using Supervisor.History.Writing;

namespace Supervisor.History.Thrift;

/// <summary>Repeats of one share while it is used up: the first of a kind is kept by itself, the others are counted and told together later.</summary>
internal sealed class Repeats
{
    /// <summary>Kinds that are told apart; what is of another is kept by itself, as new.</summary>
    private const int MostKeys = 4_096;

    private readonly Dictionary<RepeatKey, Collapsed?> _known = [];
    private TimeSpan _oldest;

    /// <summary>How many are counted and not told yet.</summary>
    public long Held { get; private set; }

    /// <summary>When the first of those that are not told yet was counted; meaningless while none is.</summary>
    public TimeSpan Since => _oldest;

    /// <summary>Counts a record that repeats one before; false when it is new, and to be kept.</summary>
    public bool TryCollapse(PendingRecord item, TimeSpan now)
    {
        if (RepeatKey.Of(item.Record!) is not { } key)
        {
            return false;
        }

        if (!_known.TryGetValue(key, out var collapsed))
        {
            if (_known.Count < MostKeys)
            {
                _known.Add(key, null);
            }

            return false;
        }

        _oldest = Held == 0 ? now : _oldest;
        Held++;
        if (collapsed is null)
        {
            _known[key] = new Collapsed(item);
        }
        else
        {
            collapsed.Add(item);
        }

        return true;
    }

    /// <summary>Hands over what was counted, as records that stand for many, in the order of the first of each.</summary>
    public IEnumerable<PendingRecord> Take()
    {
        var collapsed = _known.Where(pair => pair.Value is not null).OrderBy(pair => pair.Value!.First).ToArray();
        foreach (var (key, _) in collapsed)
        {
            _known[key] = null;
        }

        Held = 0;
        return collapsed.Select(pair => pair.Value!.ToRecord());
    }

    /// <summary>Forgets what was known: the next of each kind is new again.</summary>
    public void Forget() => _known.Clear();

    private sealed class Collapsed(PendingRecord first)
    {
        private readonly List<PendingRecord> _waiting = first.IsAwaited ? [first] : [];
        private long _count = 1;
        private TimeSpan _last = first.Record!.At;

        public TimeSpan First => first.Record!.At;

        public void Add(PendingRecord item)
        {
            _count++;
            _last = item.Record!.At > _last ? item.Record.At : _last;
            if (item.IsAwaited)
            {
                _waiting.Add(item);
            }
        }

        public PendingRecord ToRecord() => new(first.Record, null) { Count = _count, Last = _last, StandsFor = _waiting };
    }
}
