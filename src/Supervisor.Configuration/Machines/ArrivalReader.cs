using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads when a move counts as arrived and when an axis counts as not following.</summary>
internal static class ArrivalReader
{
    /// <summary>Window where the file gives none: a few increments more than a standing drive's noise.</summary>
    private const double DefaultWindowCounts = 20;

    private const double DefaultDwellMs = 20;

    private static readonly NumberRange Times = new(0, 60_000, Milliseconds.Unit);

    /// <summary>Left out: a window of 20 counts for 20 ms.</summary>
    public static InPositionDefinition ReadInPosition(ObjectReader axis, string unit, double countsPerUnit, double? period)
    {
        var fallback = DefaultWindowCounts / countsPerUnit;
        if (axis.Object("inPosition", MachineShapes.InPosition) is not { } inPosition)
        {
            return new InPositionDefinition(fallback, Milliseconds.ToTime(DefaultDwellMs));
        }

        var window = inPosition.Number("window", NumberRange.Above0(unit), fallback);
        if (window * countsPerUnit < 1)
        {
            inPosition.Refuse("window", $"{Show.Number(window)} {unit} is less than one count ({Show.Number(1 / countsPerUnit)} {unit}): no move would arrive");
        }
        else if (period is { } turn && window >= turn / 2)
        {
            inPosition.Refuse("window", $"{Show.Number(window)} {unit} is half of a turn ({Show.Number(turn)} {unit}) or more: everything would be in position");
        }

        return new InPositionDefinition(window, Milliseconds.ToTime(inPosition.Number("dwellMs", Times, DefaultDwellMs)));
    }

    /// <summary>Left out: not supervised here.</summary>
    public static FollowingErrorDefinition? ReadFollowingError(ObjectReader axis, string unit)
    {
        if (axis.Object("followingError", MachineShapes.FollowingError) is not { } error)
        {
            return null;
        }

        return new FollowingErrorDefinition(
            error.Number("limit", NumberRange.Above0(unit), $"the largest following error, {unit}"),
            Milliseconds.ToTime(error.Number("forMs", Times, fallback: 0)));
    }
}
