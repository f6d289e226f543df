using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Ports;

/// <summary>Shares of failed exchanges of each unit of a line and of all together. Every attempt is one; a repeat that succeeds does not make up for the one that failed.</summary>
/// <remarks>Failures in a row count once the unit answers again: a silence that ends as a lost link is told as that.</remarks>
/// <param name="limits">From which shares something is told.</param>
/// <param name="units">Units of the line, drives and modules.</param>
internal sealed class LineQuality(ErrorRateDefinition limits, int units)
{
    private readonly ErrorRate _line = new(limits);
    private readonly ErrorRate[] _units = [.. Enumerable.Range(0, units).Select(_ => new ErrorRate(limits))];
    private readonly int[] _failedInARow = new int[units];

    /// <summary>Of the whole line, percent.</summary>
    public double Percent => _line.Percent;

    /// <summary>Of one unit, percent.</summary>
    public double PercentOf(int unit) => _units[unit].Percent;

    /// <summary>As one unit stands.</summary>
    public ErrorLevel LevelOf(int unit) => _units[unit].Level;

    /// <summary>An exchange of a unit ended.</summary>
    /// <param name="unit">Which.</param>
    /// <param name="failed">It was not answered, or not in order.</param>
    /// <returns>The levels that unit and line have reached with it.</returns>
    public (ErrorLevel Unit, ErrorLevel Line) Note(int unit, bool failed)
    {
        if (failed)
        {
            _failedInARow[unit]++;
            return default;
        }

        var ofUnit = ErrorLevel.Good;
        var ofLine = ErrorLevel.Good;
        for (; _failedInARow[unit] > 0; _failedInARow[unit]--)
        {
            ofUnit = Higher(ofUnit, _units[unit].Add(failed: true));
            ofLine = Higher(ofLine, _line.Add(failed: true));
        }

        _units[unit].Add(failed: false);
        _line.Add(failed: false);
        // Of a line with one unit the unit's own is the line's, and one of them is enough.
        return (ofUnit, units > 1 ? ofLine : ErrorLevel.Good);
    }

    /// <summary>The unit is lost, or not met yet: its silence is not the line's.</summary>
    public void Lose(int unit) => _failedInARow[unit] = 0;

    /// <summary>Someone resets a unit: what was counted as a fault begins anew, the line's too.</summary>
    public void Reset(int unit)
    {
        Forget(_units[unit]);
        Forget(_line);
    }

    private static ErrorLevel Higher(ErrorLevel a, ErrorLevel b) => a > b ? a : b;

    private static void Forget(ErrorRate rate)
    {
        if (rate.Level == ErrorLevel.Fault)
        {
            rate.Clear();
        }
    }
}
