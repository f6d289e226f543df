using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Ports;

/// <summary>How bad a share of failed exchanges is.</summary>
internal enum ErrorLevel : byte
{
    Good = 0,
    Warning = 1,
    Fault = 2,
}

/// <summary>
/// Share of failed exchanges among the last so many, and what it means. A level is reached from its own share on and left below half of it, so that
/// a line on the edge is told once. What was not exchanged yet counts as good: a few losses at the start are no bad line. Allocates nothing once made.
/// </summary>
internal sealed class ErrorRate(ErrorRateDefinition limits)
{
    private const int BitsOfAWord = 64;
    private readonly ulong[] _failed = new ulong[(limits.Exchanges + BitsOfAWord - 1) / BitsOfAWord];
    private readonly int _warning = limits.WarningCount;
    private readonly int _fault = limits.FaultCount;
    private int _at;
    private int _failures;

    /// <summary>As it stands.</summary>
    public ErrorLevel Level { get; private set; }

    /// <summary>Failed among the last exchanges, percent.</summary>
    public double Percent => 100.0 * _failures / limits.Exchanges;

    /// <summary>Notes an exchange; the oldest one is forgotten.</summary>
    /// <returns>The level that it reached with this one; <see cref="ErrorLevel.Good"/> when it reached none.</returns>
    public ErrorLevel Add(bool failed)
    {
        ref var word = ref _failed[_at / BitsOfAWord];
        var bit = 1UL << (_at % BitsOfAWord);
        _failures += (failed ? 1 : 0) - ((word & bit) != 0 ? 1 : 0);
        word = failed ? word | bit : word & ~bit;
        _at = _at + 1 < limits.Exchanges ? _at + 1 : 0;

        var before = Level;
        var left = _failures * 2 >= _fault && before == ErrorLevel.Fault ? ErrorLevel.Fault
            : _failures * 2 >= _warning && before != ErrorLevel.Good ? ErrorLevel.Warning : ErrorLevel.Good;
        var reached = _failures >= _fault ? ErrorLevel.Fault : _failures >= _warning ? ErrorLevel.Warning : ErrorLevel.Good;
        Level = reached > left ? reached : left;
        return Level > before ? Level : ErrorLevel.Good;
    }

    /// <summary>A person has seen to it: what was is forgotten.</summary>
    public void Clear()
    {
        Array.Clear(_failed);
        _failures = 0;
        Level = ErrorLevel.Good;
    }
}
