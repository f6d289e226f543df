using Supervisor.Configuration.Machines;

namespace Supervisor.Machine.Recovery;

/// <summary>
/// Where an axis that did not follow was brought back without a person. Once at one place: what holds it there twice is a matter for a person,
/// who may find something jammed.
/// </summary>
/// <remarks>A place is forgotten after a day. How near is the same place: ten windows of arrival or twice the following error's limit, common practice without a source.</remarks>
internal sealed class FollowingPlaces(AxisDefinition axis)
{
    private const double Windows = 10;
    private const double Limits = 2;
    private const int MostKept = 64;
    private static readonly TimeSpan Memory = TimeSpan.FromHours(24);
    private readonly List<(double Position, TimeSpan At)> _places = [];

    /// <summary>How far apart positions may be that count as one place, unit.</summary>
    public static double Near(AxisDefinition axis) => Math.Max(axis.InPosition.Window * Windows, (axis.FollowingError?.Limit ?? 0) * Limits);

    /// <summary>It was brought back from here before; a position that is not known counts as any.</summary>
    public bool IsKnown(double position, TimeSpan now)
    {
        foreach (var place in _places)
        {
            if (now - place.At < Memory && IsSame(place.Position, position))
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>Two positions are one place; one that is not known is any.</summary>
    public bool IsSame(double one, double other) => !(Distance(one, other) > Near(axis));

    public void Note(double position, TimeSpan now)
    {
        _places.RemoveAll(place => now - place.At >= Memory);
        if (_places.Count == MostKept)
        {
            _places.RemoveAt(0);
        }

        _places.Add((position, now));
    }

    private double Distance(double one, double other)
    {
        var distance = Math.Abs(one - other);
        return axis.EndlessPeriod is { } period ? Math.Min(distance % period, period - (distance % period)) : distance;
    }
}
