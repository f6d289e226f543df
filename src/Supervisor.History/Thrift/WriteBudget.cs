namespace Supervisor.History.Thrift;

/// <summary>
/// Bytes that may be written a day. Each share has a store of half its day, which fills evenly with the other half: what is written within any 24 hours
/// stays within the budget, whenever they begin, but for what must be written although its share is used up.
/// </summary>
internal sealed class WriteBudget
{
    private static readonly TimeSpan Day = TimeSpan.FromDays(1);

    private readonly double[] _capacity;
    private readonly double[] _level;
    private readonly bool[] _isSparing;
    private TimeSpan _filledAt;

    /// <param name="bytesPerDay">Of all shares together.</param>
    public WriteBudget(long bytesPerDay)
    {
        _capacity = [.. BudgetShares.Percent.ToArray().Select(percent => bytesPerDay * percent / 100.0 / 2)];
        _level = [.. _capacity];
        _isSparing = new bool[_capacity.Length];
    }

    public static int Count => BudgetShares.Percent.Length;

    /// <summary>Bytes left; negative when more had to be written.</summary>
    public long Level(BudgetShare share) => (long)_level[(int)share];

    /// <summary>Part of its store that is left, up to 1.</summary>
    public double Left(BudgetShare share) => _level[(int)share] / _capacity[(int)share];

    /// <summary>True from the moment a share is used up until an eighth of its store is there again.</summary>
    public bool IsSparing(BudgetShare share) => _isSparing[(int)share];

    /// <summary>Takes up what an earlier run had left.</summary>
    /// <param name="share">Whose.</param>
    /// <param name="level">What it had left, bytes.</param>
    /// <param name="since">Time since then; zero when it is not known.</param>
    public void TakeUp(BudgetShare share, long level, TimeSpan since)
    {
        _level[(int)share] = Math.Min(_capacity[(int)share], level + (_capacity[(int)share] * (since / Day)));
        Judge((int)share);
    }

    /// <summary>Fills every store by the time that has passed.</summary>
    /// <param name="now">Monotonic time.</param>
    public void Fill(TimeSpan now)
    {
        var passed = _filledAt == default || now < _filledAt ? TimeSpan.Zero : now - _filledAt;
        _filledAt = now;
        for (var share = 0; share < _level.Length; share++)
        {
            _level[share] = Math.Min(_capacity[share], _level[share] + (_capacity[share] * (passed / Day)));
            Judge(share);
        }
    }

    public void Spend(BudgetShare share, double bytes)
    {
        _level[(int)share] -= bytes;
        Judge((int)share);
    }

    private void Judge(int share) => _isSparing[share] = _isSparing[share] ? _level[share] < _capacity[share] / 8 : _level[share] <= 0;
}
