using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Tests.Support;
using Supervisor.Runtime.Zones;

namespace Supervisor.Runtime.Tests.Zones;

/// <summary>Where zones begin and end, worked out by hand.</summary>
public sealed class ZoneGeometryTests
{
    private static readonly Extent Free = Extent.At(0, moves: true);

    /// <summary>A range from 300 to 400 of an axis; those that only touch its border are outside.</summary>
    [Theory]
    [InlineData(0, 300, 0, false)]
    [InlineData(0, 300.5, 0, true)]
    [InlineData(0, 300.5, 1, false)]
    [InlineData(400, 500, 0, false)]
    [InlineData(399.9, 500, 0, true)]
    [InlineData(310, 320, 0, true)]
    [InlineData(0, 500, 0, true)]
    [InlineData(double.NegativeInfinity, double.PositiveInfinity, 0, true)]
    public void Meets_AnAxisWithEnds_CountsItsSpan(double lower, double upper, double tolerance, bool expected) =>
        Assert.Equal(expected, Turns.Meets(new Extent(lower, upper, true), new ZoneRange(300, 400), 0, tolerance));

    /// <summary>A range from -10 to 20 of an axis that comes round every 360; its positions are told without turns taken off.</summary>
    [Theory]
    [InlineData(30, 340, false)]
    [InlineData(30, 351, true)]
    [InlineData(30, 389.9, true)]
    [InlineData(-330, -20, false)]
    [InlineData(750, 1060, false)]
    [InlineData(750, 1071, true)]
    [InlineData(725, 725, true)]
    [InlineData(0, 360, true)]
    public void Meets_AnEndlessAxis_CountsEveryTurn(double lower, double upper, bool expected) =>
        Assert.Equal(expected, Turns.Meets(new Extent(lower, upper, true), new ZoneRange(-10, 20), 360, 0));

    [Theory]
    [InlineData(-10, 20, true)]
    [InlineData(355, 379, true)]
    [InlineData(355, 381, false)]
    [InlineData(-371, -350, false)]
    [InlineData(-370, -341, true)]
    [InlineData(0, 361, false)]
    public void IsInside_AnEndlessAxis_CountsEveryTurn(double lower, double upper, bool expected) =>
        Assert.Equal(expected, Turns.IsInside(new Extent(lower, upper, true), new ZoneRange(-10, 20), 360, 0));

    /// <summary>The second axis counts from the other end of a way of 1000: at 300 it stands at 700, and the first may go to 620.</summary>
    [Fact]
    public void Distance_OfAxesThatComeTowardsEachOther_IsKeptFromBothSides()
    {
        var zone = Zone(new DistanceZone("rail", 0, 1, 80, 1000, -1));

        Assert.True(zone.IsClear(Extent.Between(0, 620), Extent.At(300), 0, 0));
        Assert.False(zone.IsClear(Extent.Between(0, 620.1), Extent.At(300), 0, 0));
        Assert.True(zone.IsClear(Extent.Between(0, 620.05), Extent.At(300), 0.05, 0.05));
        Assert.False(zone.IsClear(Extent.Between(0, 620), Extent.At(300.1), 0, 0));
        Assert.True(zone.IsClear(Extent.At(900), Extent.At(900), 0, 0), "two that stand are left alone");
        Assert.Equal(120, zone.ClearWay(0, 500, 1, Extent.At(300)), 1e-9);
        Assert.Equal(double.PositiveInfinity, zone.ClearWay(0, 500, -1, Extent.At(300)));
        Assert.Equal(20, zone.ClearWay(1, 400, 1, Extent.At(500)), 1e-9);
        Assert.True(zone.LeadsAway(0, -1) && zone.LeadsAway(1, -1));
        Assert.False(zone.LeadsAway(0, 1) || zone.LeadsAway(1, 1));
    }

    /// <summary>The second axis counts inches the same way from 100 mm on: at 10 in it stands at 354 mm.</summary>
    [Fact]
    public void Distance_OfAnotherUnit_IsTakenOnTheFirstOnesScale()
    {
        var zone = Zone(new DistanceZone("rail", 0, 1, 54, 100, 25.4));

        Assert.True(zone.IsClear(Extent.Between(0, 300), Extent.At(10), 0, 0));
        Assert.False(zone.IsClear(Extent.Between(0, 300.1), Extent.At(10), 0, 0));
        Assert.False(zone.IsClear(Extent.Between(0, 300), Extent.Between(10, 9.9), 0, 0));
        Assert.Equal(-2, zone.ClearWay(1, 12, -1, Extent.At(300)) - 4, 1e-9);
        Assert.True(zone.LeadsAway(1, 1));
    }

    [Fact]
    public void MovesOnlyWhile_AsksNothingOfAnAxisThatStandsOrIsElsewhere()
    {
        var zone = Zone(new MovesOnlyWhileZone("above", 0, new ZoneRange(100, 200), 1, new ZoneRange(0, 20)));

        Assert.True(zone.IsClear(Extent.At(150), Extent.Between(0, 60), 0, 0));
        Assert.True(zone.IsClear(Extent.Between(0, 100), Extent.At(60), 0, 0));
        Assert.False(zone.IsClear(Extent.Between(0, 101), Extent.At(60), 0, 0));
        Assert.False(zone.IsClear(Extent.Between(0, 101), Extent.Between(0, 21), 0, 0));
        Assert.True(zone.IsClear(Extent.Between(0, 500), Extent.At(20), 0, 0));
        Assert.Equal(60, zone.ClearWay(0, 40, 1, Extent.At(60)), 1e-9);
        Assert.Equal(15, zone.ClearWay(1, 5, 1, Extent.Between(100, 150)), 1e-9);
    }

    [Fact]
    public void NeverBoth_OfAnAxisWhosePlaceIsNotKnown_HoldsTheOtherOut()
    {
        var zone = Zone(new NeverBothZone("hopper", 0, new ZoneRange(300, 400), 1, new ZoneRange(100, 200)));

        Assert.False(zone.IsClear(Extent.Between(0, 310), Extent.Anywhere(false), 0, 0));
        Assert.True(zone.IsClear(Extent.Between(0, 300), Extent.Anywhere(false), 0, 0));
        Assert.True(zone.AreBothInside(Extent.At(350), Extent.At(150)));
        Assert.False(zone.AreBothInside(Extent.At(350), Extent.Anywhere(false)));
        Assert.False(zone.AreBothInside(Extent.At(350), Extent.At(200)));
        Assert.True(zone.IsClear(Free, Extent.At(150), 0, 0));
    }

    /// <summary>A range narrower than the tolerance still counts.</summary>
    [Fact]
    public void Meets_ANarrowRange_IsNotLostInTheTolerance() =>
        Assert.True(Turns.Meets(Extent.Between(0, 500), new ZoneRange(100, 101), 0, 5));

    private static Zone Zone(ZoneDefinition zone) => new ZoneBoard(
        Parts.Machine(Parts.Axis("first"), Parts.Axis("second", 2)) with { Zones = [zone] }).All[0];
}
