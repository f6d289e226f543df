namespace Supervisor.Runtime.Zones;

/// <summary>Where an axis is, or may come to be: a span of its positions, infinite to a side where nothing is known of its end.</summary>
/// <param name="Lower">Least position, unit.</param>
/// <param name="Upper">Greatest position, unit.</param>
/// <param name="Moves">It moves, or may begin to by what it was told.</param>
public readonly record struct Extent(double Lower, double Upper, bool Moves)
{
    /// <summary>Nothing is known of where it is.</summary>
    public static Extent Anywhere(bool moves) => new(double.NegativeInfinity, double.PositiveInfinity, moves);

    /// <summary>At one position.</summary>
    public static Extent At(double position, bool moves = false) => new(position, position, moves);

    /// <summary>Between two positions, in whichever order, while moving.</summary>
    public static Extent Between(double from, double to) => new(Math.Min(from, to), Math.Max(from, to), true);

    /// <summary>False when it may be anywhere.</summary>
    public bool IsKnown => !double.IsInfinity(Lower) || !double.IsInfinity(Upper);

    /// <summary>The span that holds both.</summary>
    public Extent With(in Extent other) => new(Math.Min(Lower, other.Lower), Math.Max(Upper, other.Upper), Moves || other.Moves);
}
